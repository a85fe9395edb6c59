// Quantities of a battery board, the ranges they live in, and how boards code them.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "tests/bench/recovery/recipe.h"
#include "tests/bench/recovery/rng.h"
#include "tests/bench/recovery/sensor_curve.h"
#include "tests/bench/recovery/track.h"

namespace foundling::recovery {

enum class Kind {
  cell,
  current,
  temperature,
  pack_voltage,
  supply,
  insulation,
  flow,
  pressure,
  speed,
  duty,
  coil_current,
  power,
  charge,
  state,
};

struct Quantity {
  std::string name;
  Kind kind = Kind::cell;
  double low = 0;  // the range that this session uses
  double high = 1;
  Track path;
};

struct Encoding {
  int width = 16;
  bool is_signed = false;
  bool is_float = false;
  double scale = 1;  // on a curve: the mean step of a code over the range
  double offset = 0;
  SensorCurve curve;
};

struct Switch {
  const char* name;
  std::vector<std::string> words;
};

[[nodiscard]] const std::vector<Switch>& switches();
[[nodiscard]] const char* stem_of(Kind kind);  // of names: cell, pack_current, ...
[[nodiscard]] std::string unit_of(Kind kind);
[[nodiscard]] Bounds draw_range(Kind kind, Rng& rng);

// A coding in which low..high fits with a margin and spans at least 24 codes.
[[nodiscard]] Encoding draw_encoding(Kind kind, Bounds range, const Recipe& recipe, Rng& rng);

// The code of that number, held within the field's ends.
[[nodiscard]] std::uint64_t whole_code(const Encoding& code, double number);
[[nodiscard]] std::uint64_t all_ones(int width);

// Courses over time, seconds 0..duration.
[[nodiscard]] Track slow_drift(Bounds range, double duration, Rng& rng);
[[nodiscard]] Track sine(Bounds range, double duration, Rng& rng);
[[nodiscard]] Track restless(Bounds range, double duration, Rng& rng);  // steps and swings
[[nodiscard]] Track almost_still(double value, double wobble, double duration, Rng& rng);

}  // namespace foundling::recovery
