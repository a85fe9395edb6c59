// The intervals of a line whose readings nobody stated an uncertainty for.
#include "decoder/analysis/calibration.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>
#include <vector>

using namespace foundling;

namespace {

constexpr double scale = 0.01;
constexpr double offset = 2;

// Eight plateaus of a quiet field that reads as it should; the meter scatters by three codes and
// nobody says so.
Calibration fit(std::mt19937_64& random) {
  std::normal_distribution<double> meter(0, 3 * scale);
  std::uniform_int_distribution<int> level(0, 1000);
  RowSet set;
  std::vector<double> raw;
  for (int p = 0; p < 8; ++p) {
    raw.push_back(level(random));
    Row row;
    row.from_ns = p * 1'000'000'000LL;
    row.to_ns = row.from_ns + 1'000'000'000LL;
    row.x = offset + scale * raw.back() + meter(random);
    row.plateau = p;
    set.rows.push_back(row);
  }
  set.plateaus = set.levels = 8;
  set.plateau_s = 1;
  return calibrate(set, raw, Ripple{}, std::vector<std::size_t>(raw.size(), 20), 1);
}

}  // namespace

TEST_CASE("intervals hold the truth where only the levels tell how well the readings are known") {
  constexpr int sessions = 4000;  // 95 % is known to 0.35 %
  std::mt19937_64 random(11);
  int scales = 0;
  int offsets = 0;
  for (int i = 0; i < sessions; ++i) {
    const Calibration c = fit(random);
    scales += c.scale.low <= scale && scale <= c.scale.high ? 1 : 0;
    offsets += c.offset.low <= offset && offset <= c.offset.high ? 1 : 0;
  }
  CHECK(scales > 0.935 * sessions);
  CHECK(scales < 0.965 * sessions);
  CHECK(offsets > 0.935 * sessions);
  CHECK(offsets < 0.965 * sessions);
}

TEST_CASE("a float that stands at the end of its measuring range is fitted inside it") {
  RowSet set;
  std::vector<double> raw;
  for (int p = 0; p < 15; ++p) {
    Row row;
    row.from_ns = p * 1'000'000'000LL;
    row.to_ns = row.from_ns + 1'000'000'000LL;
    row.x = 2.9 + 0.07 * p;
    row.u = 0.0001;
    row.plateau = p;
    set.rows.push_back(row);
    raw.push_back(std::clamp(0.998 * row.x, 3.05, 3.75));
  }
  set.plateaus = set.levels = 15;
  set.plateau_s = 1;
  const Calibration c = calibrate(set, raw, Ripple{}, std::vector<std::size_t>(raw.size(), 20), 0);
  CHECK(c.line.slope == doctest::Approx(1 / 0.998).epsilon(1e-6));
  CHECK(c.levels.front().outlier);
  CHECK(c.levels.back().outlier);
  CHECK_FALSE(c.levels[6].outlier);
}
