// A hang found by the processor's time, which other work on the machine does not stretch: an input
// that takes longer than a second ends the run, if it does so three times. A host that pauses its
// emulated machine may charge the pause to a program once, and never to the same input again.
#pragma once

#include <cstdio>
#include <cstdlib>
#include <ctime>

namespace foundling {

template <typename Read>
void within_cpu_budget(const Read& read) {
  constexpr int attempts = 3;
  for (int attempt = 1; attempt <= attempts; ++attempt) {
    const std::clock_t start = std::clock();
    read();
    const double taken = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
    if (taken <= 1) return;
    std::fprintf(stderr, "attempt %d: an input took %.2f s of processor time\n", attempt, taken);
  }
  std::abort();
}

}  // namespace foundling
