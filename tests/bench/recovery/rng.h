// A small generator of random numbers whose sequence is the same with every compiler and library:
// xoshiro256** (D. Blackman, S. Vigna, 2018), seeded through splitmix64. A board is its seed.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

namespace foundling::recovery {

class Rng {
 public:
  explicit Rng(std::uint64_t seed) {
    for (std::uint64_t& word : state_) {
      seed += 0x9E3779B97F4A7C15U;
      std::uint64_t z = seed;
      z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9U;
      z = (z ^ (z >> 27U)) * 0x94D049BB133111EBU;
      word = z ^ (z >> 31U);
    }
  }

  std::uint64_t next() {
    const std::uint64_t result = rotate(state_[1] * 5, 7) * 9;
    const std::uint64_t t = state_[1] << 17U;
    state_[2] ^= state_[0];
    state_[3] ^= state_[1];
    state_[1] ^= state_[2];
    state_[0] ^= state_[3];
    state_[2] ^= t;
    state_[3] = rotate(state_[3], 45);
    return result;
  }

  double uniform() { return static_cast<double>(next() >> 11U) * 0x1.0p-53; }  // [0, 1)
  double uniform(double low, double high) { return low + (high - low) * uniform(); }
  double log_uniform(double low, double high) {
    return low * std::exp(uniform() * std::log(high / low));
  }
  int integer(int low, int high) {  // both ends included
    const auto choices = static_cast<double>(high - low + 1);
    return low + static_cast<int>(uniform() * choices);
  }
  bool chance(double probability) { return uniform() < probability; }
  double normal() {  // standard normal, Box and Muller 1958
    const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform()));
    return radius * std::cos(6.283185307179586 * uniform());
  }

  template <typename T>
  const T& pick(const std::vector<T>& from) {
    return from[static_cast<std::size_t>(integer(0, static_cast<int>(from.size()) - 1))];
  }
  template <typename T>
  void shuffle(std::vector<T>& items) {
    for (std::size_t i = items.size(); i > 1; --i) {
      std::swap(items[i - 1], items[static_cast<std::size_t>(integer(0, static_cast<int>(i) - 1))]);
    }
  }

 private:
  static std::uint64_t rotate(std::uint64_t x, unsigned k) { return (x << k) | (x >> (64U - k)); }
  std::uint64_t state_[4] = {};
};

}  // namespace foundling::recovery
