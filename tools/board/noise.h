// Seeded randomness of the simulated board and bench: the same seed gives the same numbers with
// every standard library (std::mt19937_64 is fixed by the C++ standard, its distributions are not).
#pragma once

#include <cstddef>
#include <cstdint>
#include <random>
#include <span>
#include <utility>

namespace foundling::board {

class Noise {
 public:
  explicit Noise(std::uint64_t seed) : engine_(seed) {}

  // In [0, 1).
  double uniform() { return static_cast<double>(engine_() >> 11) * 0x1.0p-53; }
  double uniform(double low, double high) { return low + (high - low) * uniform(); }

  // 0 .. n-1; n > 0.
  std::size_t below(std::size_t n) {
    return static_cast<std::size_t>(uniform() * static_cast<double>(n));
  }

  // Mean 0, standard deviation 1: the sum of twelve uniforms, which needs no libm and so is the
  // same to the last bit everywhere. Its tails end at 6 standard deviations.
  double gaussian() {
    double sum = -6;
    for (int i = 0; i < 12; ++i) sum += uniform();
    return sum;
  }

  template <typename T>
  void shuffle(std::span<T> items) {
    for (std::size_t i = items.size(); i > 1; --i) std::swap(items[i - 1], items[below(i)]);
  }

 private:
  std::mt19937_64 engine_;
};

}  // namespace foundling::board
