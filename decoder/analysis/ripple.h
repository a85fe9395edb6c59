// How a field's single frames scatter about the mean of their row, and what of it is left in that
// mean.
#pragma once

#include <span>

namespace foundling {

struct Ripple {
  double output = 0;       // standard deviation of the values as sent, raw units
  double noise = 0;        // the same ahead of rounding
  double independent = 1;  // share of the frames that count: fewer where a board sends a
                           // measurement several times over, or filters it
};

// `values` in order of time; those of one row are next to one another. `step`: what they are
// rounded to, 1 for an integer and 0 for a float.
[[nodiscard]] Ripple ripple_of(std::span<const double> values, std::span<const int> row_of_value,
                               double step);

// One over the integrated autocorrelation time of deviations, within their rows; 0..1.
[[nodiscard]] double independent_share(std::span<const double> deviation,
                                       std::span<const int> row_of_value);

// Variance of the rounding error that is left in the mean of many values, in steps squared,
// averaged over where between two codes the value lies; noise in steps. A quiet field keeps all of
// 1/12, a noisy one dithers it away: sum over k of exp(-4 pi^2 k^2 noise^2) / (2 pi^2 k^2), the
// harmonics of the sawtooth (B. Widrow, I. Kollar, Quantization Noise, Cambridge 2008; formula
// derived here).
[[nodiscard]] double rounding_variance(double noise);

}  // namespace foundling
