// A hang found by the processor's time, which other work on the machine does not stretch: an input
// that takes longer than a second ends the run.
#pragma once

#include <cstdio>
#include <cstdlib>
#include <ctime>

namespace foundling {

class CpuBudget {
 public:
  CpuBudget() = default;
  CpuBudget(const CpuBudget&) = delete;
  CpuBudget& operator=(const CpuBudget&) = delete;
  ~CpuBudget() {
    const double taken = static_cast<double>(std::clock() - start_) / CLOCKS_PER_SEC;
    if (taken <= 1) return;
    std::fprintf(stderr, "an input took %.2f s of processor time\n", taken);
    std::abort();
  }

 private:
  std::clock_t start_ = std::clock();
};

}  // namespace foundling
