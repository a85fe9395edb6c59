#include "decoder/analysis/round_numbers.h"

#include <doctest/doctest.h>

#include <vector>

using namespace foundling;

namespace {

// Levels on a line that is off the round one by a gain and a zero error, exactly.
Calibration on_line(double scale, double offset, double half_scale, double half_offset) {
  Calibration c;
  for (int i = 0; i <= 10; ++i) {
    LevelPoint level;
    level.raw = 100.0 * i;
    level.x = scale * level.raw + offset;
    level.plateaus = 1;
    c.levels.push_back(level);
  }
  c.line.slope = scale;
  c.line.intercept = offset;
  c.scale = {scale - half_scale, scale + half_scale};
  c.offset = {offset - half_offset, offset + half_offset};
  return c;
}

constexpr Span wide{{0, 7}, {1, 0}};

}  // namespace

TEST_CASE("a scale within its interval of a plain decimal becomes that decimal") {
  const RoundLine line = round_line(on_line(0.10002, -0.02, 0.00006, 0.03), wide);
  CHECK(line.found);
  CHECK(line.scale == 0.1);
  CHECK(line.offset == 0);
}

TEST_CASE("a gain error of 0.3 % does not hide the round scale, nor the offset turned with it") {
  const RoundLine line = round_line(on_line(1.003, -40 * 1.003, 0.0001, 0.05), wide);
  CHECK(line.scale == 1);
  CHECK(line.offset == -40);
}

TEST_CASE("published resolutions are known: 1/32 degree, 0.05 A from -1600 A, 0.125 rpm") {
  // SAE J1939-71: oil temperature 0.03125 degC/bit from -273; high-range current; engine speed.
  const RoundLine temperature = round_line(on_line(0.0312504, -273.002, 0.000002, 0.01), wide);
  CHECK(temperature.scale == 0.03125);
  CHECK(temperature.offset == -273);
  const RoundLine current = round_line(on_line(0.050001, -1600.02, 0.00001, 0.3), wide);
  CHECK(current.scale == 0.05);
  CHECK(current.offset == -1600);
  CHECK(round_line(on_line(0.125003, 0.01, 0.00001, 0.1), wide).scale == 0.125);
}

TEST_CASE("a binary fraction is not forced into a decimal that lies outside") {
  CHECK(round_line(on_line(1.0 / 4096, 0.00001, 1e-8, 0.0001), wide).scale == 1.0 / 4096);
}

TEST_CASE("great powers of two are no round scale, and a float has none at all") {
  CHECK(round_line(on_line(256, 0.1, 0.01, 0.5), wide).cost_bits < 3);
  CHECK(round_line(on_line(4194304, 10, 100, 1000), wide).cost_bits >= 8);  // as 4,200,000
  RoundTolerance real;
  real.zero_lsb = 0;
  CHECK(round_line(on_line(1.0 / 4194304, 0, 1e-12, 1e-9), wide, real).cost_bits >= 12);
  CHECK(round_line(on_line(1.0002, 0, 1e-4, 1e-4), wide, real).cost_bits < 1);
}
