// A first-order low-pass, sampled: the RC filter before each of the board's converters.
#pragma once

#include <cmath>

namespace foundling::board {

class LowPass {
 public:
  // Both in seconds. time_constant 0 passes everything.
  LowPass(double time_constant, double step)
      : share_(time_constant > 0 ? 1 - std::exp(-step / time_constant) : 1) {}

  // The first input is taken as it is: the filter had settled before power-up.
  double update(double input) {
    value_ = settled_ ? value_ + share_ * (input - value_) : input;
    settled_ = true;
    return value_;
  }

 private:
  double share_;
  double value_ = 0;
  bool settled_ = false;
};

}  // namespace foundling::board
