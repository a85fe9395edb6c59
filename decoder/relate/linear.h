// Small linear least squares without an intercept, for differences.
#pragma once

#include <span>
#include <vector>

namespace foundling::relate {

struct Fit {
  std::vector<double> slope;      // one a column
  std::vector<double> deviation;  // standard, of each
  double r2 = 0;                  // of y, about zero
  bool ok = false;
};

// y on the columns, each with `ridge` (its own error's sum of squares, at least a little) on the
// diagonal; `use` leaves rows out, empty takes all.
[[nodiscard]] Fit fit(std::span<const std::vector<double>> columns, const std::vector<double>& y,
                      double ridge, const std::vector<bool>& use = {});

// y = slope * x with errors in both: the line whose slope treats x and y alike, scaled by the
// errors that each has (W. E. Deming, Statistical Adjustment of Data, 1943).
struct Line {
  double slope = 0;
  double deviation = 0;
  double r2 = 0;
};
[[nodiscard]] Line line_through_zero(const std::vector<double>& x, const std::vector<double>& y,
                                     double error_x, double error_y,
                                     const std::vector<bool>& use = {});

}  // namespace foundling::relate
