// Adaptive odds (R. E. Krichevsky, V. K. Trofimov, IEEE Trans. Inf. Theory 27 (1981) 199) that a
// value is the last one once more, by how many frames it has been there. A board that measures
// every k frames gives itself away at once.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>

namespace foundling {

class Repetition {
 public:
  [[nodiscard]] double odds() const { return same_[age_] / (same_[age_] + other_[age_]); }
  void learn(bool same) {
    (same ? same_ : other_)[age_] += 1;
    age_ = same ? std::min<std::size_t>(age_ + 1, ages - 1) : 0;
  }
  void begin() { age_ = ages - 1; }

 private:
  static constexpr std::size_t ages = 8;
  std::array<double, ages> same_{{.5, .5, .5, .5, .5, .5, .5, .5}};
  std::array<double, ages> other_{{.5, .5, .5, .5, .5, .5, .5, .5}};
  std::size_t age_ = ages - 1;
};

}  // namespace foundling
