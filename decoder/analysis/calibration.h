// The line of one field against one channel, with honest intervals: physical = raw * scale +
// offset. The sample size is the number of distinct levels, not of frames; both axes have errors
// (raw by rounding and ripple, x by its stated uncertainty).
#pragma once

#include <vector>

#include "decoder/analysis/line_fit.h"
#include "decoder/analysis/moments.h"
#include "decoder/analysis/proposal.h"

namespace foundling {

struct LevelPoint {
  double raw = 0;  // mean raw value at that level
  double x = 0;
  double raw_variance = 0;  // of that mean: rounding, and ripple over the frames
  double x_variance = 0;    // stated
  int plateaus = 0;
  bool outlier = false;  // too far off the line to be used
};

struct Calibration {
  LineFit line;    // x on raw
  Interval scale;  // 95 %
  Interval offset;
  double residual_rms = 0;  // x about the line, over the levels
  double misfit = 0;        // reduced chi-square of the levels, a thousandth of the range granted
  double noise = 0;         // standard deviation of raw within a plateau, LSB
  std::vector<LevelPoint> levels;
};

// `raw`: row means of the field (NaN where absent), `noise`: its deviation within a plateau,
// `step`: what it is rounded to, 1 for an integer and 0 for a float.
[[nodiscard]] Calibration calibrate(const RowSet& set, std::span<const double> raw, double noise,
                                    std::span<const std::size_t> frames_a_row, double step);

// Standard deviation of a field's single frames about their row's mean.
[[nodiscard]] double noise_within_rows(std::span<const double> values,
                                       std::span<const int> row_of_value);

}  // namespace foundling
