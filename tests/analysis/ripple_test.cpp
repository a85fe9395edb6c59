#include "decoder/analysis/ripple.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

using namespace foundling;

namespace {

// The error that rounding leaves in a long mean, squared, averaged over where the value lies: by
// adding up every code's probability, without a series.
double rounding_variance_by_hand(double noise) {
  constexpr int positions = 400;
  double sum = 0;
  for (int i = 0; i < positions; ++i) {
    const double value = (i + 0.5) / positions;
    double mean = 0;
    for (int code = -8; code <= 9; ++code) {
      const auto below = [&](double edge) {
        return 0.5 * std::erfc((value - edge) / (noise * std::sqrt(2.0)));
      };
      mean += code * (below(code + 0.5) - below(code - 0.5));
    }
    sum += (mean - value) * (mean - value) / positions;
  }
  return sum;
}

}  // namespace

TEST_CASE("what rounding leaves in a mean is what adding up the codes gives") {
  CHECK(rounding_variance(0) == doctest::Approx(1.0 / 12));
  for (const double noise : {0.05, 0.1, 0.15, 0.2, 0.3, 0.5}) {
    CAPTURE(noise);
    CHECK(rounding_variance(noise) ==
          doctest::Approx(rounding_variance_by_hand(noise)).epsilon(0.02));
  }
}

TEST_CASE("noise ahead of rounding is told from what rounding adds") {
  std::mt19937_64 random(7);
  for (const double noise : {0.15, 0.3, 0.7, 2.0}) {
    std::vector<double> values;
    std::vector<int> row;
    std::normal_distribution<double> normal(0, noise);
    std::uniform_real_distribution<double> level(0, 1);
    for (int r = 0; r < 400; ++r) {
      const double at = level(random);
      for (int i = 0; i < 50; ++i) {
        values.push_back(std::round(100 + at + normal(random)));
        row.push_back(r);
      }
    }
    const Ripple ripple = ripple_of(values, row, 1);
    CAPTURE(noise);
    CHECK(ripple.noise == doctest::Approx(noise).epsilon(0.08));
    CHECK(ripple.independent == doctest::Approx(1).epsilon(0.15));
  }
}

TEST_CASE("values sent several times over count once, filtered ones as Bartlett's formula says") {
  std::mt19937_64 random(11);
  std::normal_distribution<double> normal(0, 1);
  std::vector<double> repeated;
  for (int i = 0; i < 5000; ++i) {
    const double value = normal(random);
    for (int k = 0; k < 4; ++k) repeated.push_back(value);
  }
  const std::vector<int> one_row(repeated.size(), 0);
  CHECK(independent_share(repeated, one_row) == doctest::Approx(0.25).epsilon(0.1));

  // AR(1) with coefficient 0.6: (1 - 0.6) / (1 + 0.6) of the values count (M. S. Bartlett, J. R.
  // Stat. Soc. 98 (1935) 536).
  std::vector<double> filtered{0};
  for (int i = 1; i < 20000; ++i) filtered.push_back(0.6 * filtered.back() + normal(random));
  CHECK(independent_share(filtered, one_row) == doctest::Approx(0.25).epsilon(0.1));
}

TEST_CASE("a field that never moves within its rows has no noise, and counts whole") {
  const std::vector<double> values{5, 5, 5, 9, 9, 9};
  const std::vector<int> row{0, 0, 0, 1, 1, 1};
  const Ripple ripple = ripple_of(values, row, 1);
  CHECK(ripple.output == 0);
  CHECK(ripple.noise == doctest::Approx(0).scale(1));
  CHECK(ripple.independent == 1);
}
