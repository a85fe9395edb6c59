#include "decoder/analysis/line_fit.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <random>
#include <vector>

using namespace foundling;

namespace {

// NIST/ITL Statistical Reference Datasets, linear regression, "Norris": calibration of ozone
// monitors, 36 points, with its certified values.
constexpr std::array norris_x{0.2,   337.4, 118.2, 884.6, 10.1,  226.5, 666.3, 996.3, 448.6,
                              777.0, 558.2, 0.4,   0.6,   775.5, 666.9, 338.0, 447.5, 11.6,
                              556.0, 228.1, 995.8, 887.6, 120.2, 0.3,   0.3,   556.8, 339.1,
                              887.2, 999.0, 779.0, 11.1,  118.3, 229.2, 669.1, 448.9, 0.5};
constexpr std::array norris_y{0.1,   338.8, 118.1, 888.0, 9.2,   228.1, 668.5, 998.5, 449.1,
                              778.9, 559.2, 0.3,   0.1,   778.1, 668.8, 339.3, 448.9, 10.8,
                              557.7, 228.3, 998.0, 888.8, 119.6, 0.3,   0.6,   557.6, 339.3,
                              888.0, 998.5, 778.9, 10.2,  117.6, 228.9, 668.4, 449.2, 0.2};

// K. Pearson's data (1901) with the weights of D. York (1966); the line and its errors as in
// D. York et al., American Journal of Physics 72 (2004) 367.
std::vector<Point> pearson() {
  constexpr std::array<double, 10> x{0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4};
  constexpr std::array<double, 10> y{5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5};
  constexpr std::array<double, 10> wx{1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1};
  constexpr std::array<double, 10> wy{1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500};
  std::vector<Point> points;
  for (std::size_t i = 0; i < x.size(); ++i) {
    points.push_back({x[i], y[i], 1 / std::sqrt(wx[i]), 1 / std::sqrt(wy[i])});
  }
  return points;
}

}  // namespace

TEST_CASE("least squares gives NIST's certified line for the Norris data") {
  const LineFit fit = fit_line(norris_x, norris_y);
  CHECK(fit.intercept == doctest::Approx(-0.262323073774029).epsilon(1e-10));
  CHECK(fit.slope == doctest::Approx(1.00211681802045).epsilon(1e-10));
  CHECK(fit.intercept_se == doctest::Approx(0.232818234301152).epsilon(1e-10));
  CHECK(fit.slope_se == doctest::Approx(0.429796848199937e-3).epsilon(1e-10));
  CHECK(fit.residual_sd == doctest::Approx(0.884796396144373).epsilon(1e-10));
  CHECK(fit.r2 == doctest::Approx(0.999993745883712).epsilon(1e-10));
}

TEST_CASE("York's equations give the published line for Pearson's data with York's weights") {
  const std::vector<Point> points = pearson();
  const LineFit fit = fit_york(points);
  CHECK(fit.intercept == doctest::Approx(5.47991022403286).epsilon(1e-9));
  CHECK(fit.slope == doctest::Approx(-0.48053340744620).epsilon(1e-9));
  CHECK(fit.intercept_se == doctest::Approx(0.294970735).epsilon(1e-7));
  CHECK(fit.slope_se == doctest::Approx(0.057985009).epsilon(1e-7));
  CHECK(fit.reduced_chi2 == doctest::Approx(1.483294149).epsilon(1e-8));
}

TEST_CASE("without errors in x York's line is weighted least squares") {
  std::vector<Point> points;
  for (std::size_t i = 0; i < norris_x.size(); ++i)
    points.push_back({norris_x[i], norris_y[i], 0, 1});
  const LineFit york = fit_york(points);
  const LineFit least_squares = fit_line(norris_x, norris_y);
  CHECK(york.slope == doctest::Approx(least_squares.slope).epsilon(1e-12));
  CHECK(york.intercept == doctest::Approx(least_squares.intercept).epsilon(1e-9));
}

TEST_CASE("Student's quantiles are those of the NIST/SEMATECH e-Handbook") {
  // e-Handbook of Statistical Methods, table 1.3.6.7.2; digits recomputed with a second library.
  CHECK(student_t(0.95, 1) == doctest::Approx(12.7062047361747).epsilon(1e-12));
  CHECK(student_t(0.95, 10) == doctest::Approx(2.22813885198627).epsilon(1e-12));
  CHECK(student_t(0.99, 5) == doctest::Approx(4.03214298355523).epsilon(1e-12));
  CHECK(student_t(0.95, 34) == doctest::Approx(2.03224450931772).epsilon(1e-12));
}

TEST_CASE("intervals from least squares hold the planted slope in 95 of 100 trials") {
  std::mt19937_64 random(20);
  std::normal_distribution<double> noise(0, 0.5);
  int held = 0;
  constexpr int trials = 2000;
  for (int trial = 0; trial < trials; ++trial) {
    std::vector<double> x;
    std::vector<double> y;
    for (int i = 0; i < 8; ++i) {
      x.push_back(i);
      y.push_back(3 + 0.25 * i + noise(random));
    }
    const LineFit fit = fit_line(x, y);
    if (std::abs(fit.slope - 0.25) <= student_t(0.95, 6) * fit.slope_se) ++held;
  }
  CHECK(held > trials * 0.935);
  CHECK(held < trials * 0.965);
}
