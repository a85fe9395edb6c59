// Straight lines: ordinary least squares, and York's best line with errors in both coordinates
// (D. York et al., American Journal of Physics 72 (2004) 367, equations 13a-13d).
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace foundling {

struct LineFit {
  double slope = 0;
  double intercept = 0;
  double slope_se = 0;  // standard errors; of fit_york from the stated errors alone
  double intercept_se = 0;
  double residual_sd = 0;  // of y about the line, n - 2 degrees of freedom
  double r2 = 0;
  double reduced_chi2 = 0;  // fit_york: weighted squared residuals per degree of freedom
  std::size_t n = 0;
};

// Requires x.size() == y.size() >= 2 and at least two different x. With two points the errors are
// 0.
[[nodiscard]] LineFit fit_line(std::span<const double> x, std::span<const double> y);

struct Point {
  double x = 0;
  double y = 0;
  double sx = 0;  // standard errors, not both 0
  double sy = 0;
};

[[nodiscard]] LineFit fit_york(std::span<const Point> points);

// |t| that a Student variable with that many degrees of freedom stays below with this probability.
[[nodiscard]] double student_t(double two_sided_probability, double degrees_of_freedom);

}  // namespace foundling
