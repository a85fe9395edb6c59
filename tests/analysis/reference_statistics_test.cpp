// Statistics against values that others certified or printed. Sources beside each case.
#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <numeric>
#include <vector>

#include "decoder/analysis/line_fit.h"
#include "decoder/analysis/moments.h"

using namespace foundling;

namespace {

// A line through the origin is the ordinary line through the points and their mirror images about
// it. Doubling the points leaves the residual deviation as it is (2n - 2 degrees of freedom for
// twice the squares) and divides the slope's variance by two.
struct OriginFit {
  double slope;
  double slope_se;
  double residual_sd;
  double r2;
};

OriginFit through_origin(std::vector<double> x, std::vector<double> y) {
  const std::size_t n = x.size();
  for (std::size_t i = 0; i < n; ++i) {
    x.push_back(-x[i]);
    y.push_back(-y[i]);
  }
  const LineFit fit = fit_line(x, y);
  CHECK(std::abs(fit.intercept) < 1e-12);
  return {fit.slope, fit.slope_se * std::sqrt(2), fit.residual_sd, fit.r2};
}

// The values as levels of a held channel, as every search sees them: less their mean.
std::vector<double> centred(const std::vector<double>& values) {
  RowSet set;
  Moments moments;
  for (std::size_t i = 0; i < values.size(); ++i) {
    Row row;
    row.x = values[i];
    set.rows.push_back(row);
    moments.rows.push_back(i);
  }
  return centred_x(moments, set);
}

struct Certified {
  const char* name;
  double mean;
  double sd;               // n - 1
  double autocorrelation;  // of neighbours
  double tolerance;        // relative; the more digits lie above the spread, the fewer are left
};

std::vector<double> alternating(double first, double low, double high) {
  std::vector<double> values{first};
  for (int i = 0; i < 500; ++i) {
    values.push_back(low);
    values.push_back(high);
  }
  return values;
}

void check_univariate(const std::vector<double>& values, const Certified& truth) {
  CAPTURE(truth.name);
  const std::vector<double> c = centred(values);
  const auto n = static_cast<double>(values.size());
  CHECK(values[0] - c[0] == doctest::Approx(truth.mean).epsilon(1e-14));
  CHECK(std::sqrt(variance(c) * n / (n - 1)) == doctest::Approx(truth.sd).epsilon(truth.tolerance));
  const double neighbours = std::inner_product(c.begin(), c.end() - 1, c.begin() + 1, 0.0);
  CHECK(neighbours / (variance(c) * n) ==
        doctest::Approx(truth.autocorrelation).epsilon(truth.tolerance));
}

}  // namespace

TEST_CASE("lines through the origin are NIST's certified ones for NoInt1 and NoInt2") {
  // NIST/ITL Statistical Reference Datasets, linear regression, "NoInt1" and "NoInt2".
  std::vector<double> x;
  std::vector<double> y;
  for (int i = 60; i <= 70; ++i) {
    x.push_back(i);
    y.push_back(i + 70);
  }
  const OriginFit one = through_origin(x, y);
  CHECK(one.slope == doctest::Approx(2.07438016528926).epsilon(1e-12));
  CHECK(one.slope_se == doctest::Approx(0.165289256198347e-1).epsilon(1e-12));
  CHECK(one.residual_sd == doctest::Approx(3.56753034006338).epsilon(1e-12));
  CHECK(one.r2 == doctest::Approx(0.999365492298663).epsilon(1e-12));

  const OriginFit two = through_origin({4, 5, 6}, {3, 4, 4});
  CHECK(two.slope == doctest::Approx(0.727272727272727).epsilon(1e-12));
  CHECK(two.slope_se == doctest::Approx(0.420827318078432e-1).epsilon(1e-12));
  CHECK(two.residual_sd == doctest::Approx(0.369274472937998).epsilon(1e-12));
  CHECK(two.r2 == doctest::Approx(0.993348115299335).epsilon(1e-12));
}

TEST_CASE("levels far from zero keep NIST's certified mean, deviation and autocorrelation") {
  // NIST/ITL Statistical Reference Datasets, univariate summary statistics, "NumAcc1" to "NumAcc4".
  check_univariate({10000001, 10000003, 10000002}, {"NumAcc1", 10000002, 1, -0.5, 1e-14});
  check_univariate(alternating(1.2, 1.1, 1.3), {"NumAcc2", 1.2, 0.1, -0.999, 1e-12});
  check_univariate(alternating(1000000.2, 1000000.1, 1000000.3),
                   {"NumAcc3", 1000000.2, 0.1, -0.999, 1e-8});
  check_univariate(alternating(10000000.2, 10000000.1, 10000000.3),
                   {"NumAcc4", 10000000.2, 0.1, -0.999, 1e-7});
}

TEST_CASE("a line survives levels far from zero") {
  // The levels of NumAcc4 on a known line: y = 2 x - 20000000.4 runs about zero.
  const std::vector<double> x = alternating(10000000.2, 10000000.1, 10000000.3);
  std::vector<double> y;
  y.reserve(x.size());
  for (const double value : x) y.push_back(2 * (value - 10000000.2));
  const LineFit fit = fit_line(x, y);
  CHECK(fit.slope == doctest::Approx(2).epsilon(1e-9));
  CHECK(fit.intercept == doctest::Approx(-20000000.4).epsilon(1e-9));
  CHECK(fit.r2 == doctest::Approx(1).epsilon(1e-12));
}

TEST_CASE("Student's quantiles are those that handbooks print") {
  // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2 (three decimals there); the digits
  // were recomputed with two libraries.
  struct Quantile {
    double upper_tail;
    double freedom;
    double t;
  };
  constexpr std::array table{
      Quantile{0.025, 1, 12.7062047361747},  Quantile{0.025, 5, 2.57058183563631},
      Quantile{0.005, 5, 4.03214298355523},  Quantile{0.05, 10, 1.81246112281168},
      Quantile{0.025, 10, 2.22813885198627}, Quantile{0.025, 20, 2.08596344726586},
      Quantile{0.05, 30, 1.69726088659396},  Quantile{0.025, 30, 2.04227245630124},
      Quantile{0.025, 34, 2.03224450931772}};
  for (const Quantile& q : table) {
    CAPTURE(q.upper_tail);
    CAPTURE(q.freedom);
    CHECK(student_t(1 - 2 * q.upper_tail, q.freedom) == doctest::Approx(q.t).epsilon(1e-12));
  }
  // 1.3.6.7.1 and 1.3.6.7.3: the normal quantile is the limit, and t squared is F with (1, n).
  CHECK(student_t(0.95, 1e9) == doctest::Approx(1.95996398454005).epsilon(1e-8));
  CHECK(student_t(0.99, 1e9) == doctest::Approx(2.57582930354890).epsilon(1e-8));
  const double t = student_t(0.95, 10);
  CHECK(t * t == doctest::Approx(4.96460274373071).epsilon(1e-12));
}

TEST_CASE("York's errors scaled by the misfit are the published ones") {
  // D. York et al., American Journal of Physics 72 (2004) 367, Pearson's data with York's weights:
  // the errors as other libraries print them, scaled by the root of the reduced chi-square.
  constexpr std::array<double, 10> x{0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4};
  constexpr std::array<double, 10> y{5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5};
  constexpr std::array<double, 10> wx{1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1};
  constexpr std::array<double, 10> wy{1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500};
  std::vector<Point> points;
  std::vector<Point> swapped;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double sx = 1 / std::sqrt(wx[i]);
    const double sy = 1 / std::sqrt(wy[i]);
    points.push_back({x[i], y[i], sx, sy});
    swapped.push_back({y[i], x[i], sy, sx});
  }
  const LineFit fit = fit_york(points);
  const double root = std::sqrt(fit.reduced_chi2);
  CHECK(fit.intercept_se * root == doctest::Approx(0.359246522551).epsilon(1e-7));
  CHECK(fit.slope_se * root == doctest::Approx(0.070620269529).epsilon(1e-7));
  CHECK(fit.reduced_chi2 * 8 == doctest::Approx(11.866353194).epsilon(1e-8));
  // Errors in both axes are treated alike: the line of x on y is the same line.
  const LineFit other = fit_york(swapped);
  CHECK(other.slope == doctest::Approx(1 / fit.slope).epsilon(1e-9));
  CHECK(other.intercept == doctest::Approx(-fit.intercept / fit.slope).epsilon(1e-9));
}
