// How many bits it takes to write down a quantity that keeps to its level while its channel rests.
//
// Several predictors run side by side: constant-level Kalman filters of different wander and
// memory, rounding included, one that expects the last value again, or the one before it, an urn of
// the plateau's values, and one for values on their way to a new level. Each value costs what their
// weighted mixture gives it, and the weights follow who predicted well, with a little going round
// so that a predictor can come back (M. Herbster, M. K. Warmuth, Machine Learning 32 (1998) 151).
// So plateaus that rest between two codes and plateaus that rest on one are each coded as well as
// they can be.
#pragma once

#include <span>

namespace foundling {

struct Prediction {
  double intercept = 0;
  double slope = 0;  // of the line raw = intercept + slope * x
  double noise = 0;  // variance of single values about their level, from steps between neighbours
  double noise_of_changes = 0;  // the same from values that differ from the last
  double range = 0;             // greatest value less least
  double start = 0.02;          // variance of the level at a plateau's start about what is expected
  bool follows_x = true;        // else the level at a plateau's start is the last one, give or take
};

// `raw`: whole numbers in order of time, with the channel's value and the plateau of each.
[[nodiscard]] double prediction_cost(std::span<const double> raw, std::span<const double> x,
                                     std::span<const int> plateau, const Prediction& given);

}  // namespace foundling
