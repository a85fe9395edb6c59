// What one candidate did during one turn: a mean value for each bin of the window that has frames.
// Pure.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "decoder/touch/timing.h"

namespace foundling::touch {

using Bins = std::array<double, window_bins>;

// Which bins have frames of a message, and what is left of a step, a bend or a pulse in them once
// a straight line through the window is taken away. The same for all fields of a message.
class Mask {
 public:
  explicit Mask(const std::array<bool, window_bins>& seen);

  [[nodiscard]] bool seen(int bin) const { return seen_[static_cast<std::size_t>(bin)]; }
  [[nodiscard]] int count() const { return count_; }
  // Takes the best straight line off the values; bins without frames become 0.
  void level(Bins& values) const;
  // Of a regressor that is `shape` in the seen bins: what a straight line leaves of its square.
  [[nodiscard]] double left_of(const Bins& shape) const;

 private:
  std::array<bool, window_bins> seen_;
  int count_ = 0;
  double mean_bin_ = 0;
  double spread_ = 0;  // sum of squares of the bins' numbers around their mean
};

}  // namespace foundling::touch
