// Random numbers that are the same with every compiler and library, so that a plan is its seed.
#pragma once

#include <cstddef>
#include <cstdint>
#include <random>
#include <utility>
#include <vector>

namespace foundling::bench {

class Random {
 public:
  explicit Random(std::uint64_t seed) : engine_(seed) {}

  double uniform() { return static_cast<double>(engine_() >> 11U) * 0x1.0p-53; }  // [0, 1)
  std::size_t below(std::size_t count) {
    return static_cast<std::size_t>(uniform() * static_cast<double>(count));
  }
  template <typename T>
  void shuffle(std::vector<T>& items) {
    for (std::size_t i = items.size(); i > 1; --i) std::swap(items[i - 1], items[below(i)]);
  }

 private:
  std::mt19937_64 engine_;  // its sequence is fixed by the standard, unlike that of distributions
};

}  // namespace foundling::bench
