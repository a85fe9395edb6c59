// The simplest scale and offset that a fitted line allows. A board's own gain error and the
// instrument's are systematic and not in the statistical interval, so the round number is looked
// for within the interval widened by a stated gain and zero tolerance.
#pragma once

#include "decoder/analysis/calibration.h"

namespace foundling {

struct RoundTolerance {
  double gain = 0.005;       // of the scale, on top of the interval
  double gain_sd = 0.002;    // how likely a deviation is within it: its standard deviation
  double zero_lsb = 1.0;     // of the offset, in LSB, on top of the interval; 0 for a float, which
                             // has none: 0.2 % of the range then
  double zero_range = 3e-4;  // of the offset, of the channel's range: what instruments may be off
};

struct RoundLine {
  bool found = false;  // false: nothing simple fits, scale and offset are the fitted ones
  double scale = 0;
  double offset = 0;
  double cost_bits = 0;  // how unlikely such numbers are: fewer for simpler ones
};

[[nodiscard]] RoundLine round_line(const Calibration& calibration, const Span& span,
                                   const RoundTolerance& tolerance = {});

}  // namespace foundling
