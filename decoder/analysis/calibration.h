// The line of one field against one channel, with honest intervals: physical = raw * scale +
// offset. The sample size is the number of distinct levels, not of frames; both axes have errors
// (raw by rounding and ripple, x by its stated uncertainty).
#pragma once

#include <vector>

#include "decoder/analysis/line_fit.h"
#include "decoder/analysis/moments.h"
#include "decoder/analysis/proposal.h"
#include "decoder/analysis/ripple.h"

namespace foundling {

struct LevelPoint {
  double raw = 0;  // mean raw value at that level
  double x = 0;
  double raw_variance = 0;  // of that mean: rounding, and ripple over the frames
  double x_variance = 0;    // stated
  double unrest = 0;        // how far a moving channel moved around then, raw units
  int plateaus = 0;
  bool outlier = false;  // too far off the line to be used
};

struct Calibration {
  LineFit line;    // x on raw
  Interval scale;  // 95 %
  Interval offset;
  double residual_rms = 0;  // x about the line, over the levels
  double misfit = 0;        // reduced chi-square of the levels, a thousandth of the range granted
  std::vector<LevelPoint> levels;
};

// `raw`: row means of the field (NaN where absent); `step`: what it is rounded to, 1 for an integer
// and 0 for a float.
[[nodiscard]] Calibration calibrate(const RowSet& set, std::span<const double> raw,
                                    const Ripple& ripple, std::span<const std::size_t> frames_a_row,
                                    double step);

}  // namespace foundling
