// How boards code a quantity: realistic scales and offsets, drawn until the range fits.
#include <algorithm>
#include <cmath>
#include <vector>

#include "tests/bench/recovery/quantities.h"

namespace foundling::recovery {
namespace {

struct Zero {  // where raw 0 lies
  double offset = 0;
  bool is_signed = false;
  bool half_range = false;  // offset binary: the middle code means 0
};

struct Choices {
  std::vector<double> scales;
  std::vector<Zero> zeros;
};

constexpr Zero at_zero{0, false, false};
constexpr Zero signed_zero{0, true, false};
constexpr Zero half_range{0, false, true};

Choices choices_for(Kind kind, const Recipe& recipe) {
  switch (kind) {
    case Kind::cell:
      return {{0.001, 0.001, 0.0005, 0.0001, 0x1p-12, 0x1p-13, 0.002, 0.005},
              {at_zero, at_zero, at_zero, {2.0, false, false}, {1.0, false, false}}};
    case Kind::current:
      if (recipe.signed_current) return {{0.1, 0.05, 0.025, 0.01, 0.5, 0x1p-5}, {signed_zero}};
      return {{0.1, 0.05, 0.025, 0.01, 0.5, 1, 0x1p-5, 0.2},
              {signed_zero,
               half_range,
               {-1600, false, false},
               {-500, false, false},
               {-1000, false, false}}};
    case Kind::temperature:
      return {{1, 0.5, 0.1, 0.25, 0.01, 0.03125},
              {{-40, false, false},
               {-40, false, false},
               signed_zero,
               {-50, false, false},
               {-273, false, false},
               half_range}};
    case Kind::pack_voltage:
      return {{0.1, 0.05, 0.5, 0.025, 1, 0x1p-6, 0.01}, {at_zero}};
    case Kind::supply:
      return {{0.1, 0.05, 0.01, 0.001, 0x1p-8}, {at_zero}};
    case Kind::insulation:
      return {{1, 10, 5, 0.5}, {at_zero}};
    case Kind::flow:
      return {{0.1, 0.5, 0.25, 0.01}, {at_zero}};
    case Kind::pressure:
      return {{0.5, 0.1, 1, 2}, {at_zero, {-100, false, false}}};
    case Kind::speed:
      return {{0.125, 1, 10, 0.5}, {at_zero}};
    case Kind::duty:
      return {{0.4, 0.5, 0.1, 0.01, 1}, {at_zero}};
    case Kind::coil_current:
      return {{1, 0.5, 2, 10}, {at_zero}};
    case Kind::power:
      return {{0.1, 0.01, 0.05}, {signed_zero, half_range}};
    case Kind::charge:
      return {{0.001, 0.01, 0.1}, {at_zero, signed_zero}};
    case Kind::state:
      break;
  }
  return {{1}, {at_zero}};
}

// SAE J1939-71 scalings (reference values: battery potential, net battery current, current of high
// range, temperatures, percent, speed); the rest follows the same habits.
Choices j1939_choices(Kind kind, const Recipe& recipe) {
  switch (kind) {
    case Kind::current:
      return {{0.05}, {{-1600, false, false}}};
    case Kind::temperature:
      return {{1, 0.03125}, {{-40, false, false}, {-273, false, false}}};
    case Kind::pack_voltage:
    case Kind::supply:
      return {{0.05}, {at_zero}};
    case Kind::cell:
      return {{0.001}, {at_zero}};
    case Kind::duty:
      return {{0.4}, {at_zero}};
    case Kind::speed:
      return {{0.125}, {at_zero}};
    case Kind::power:
      return {{0.1}, {{-3200, false, false}}};
    case Kind::charge:
      return {{0.01}, {at_zero}};
    default:
      return choices_for(kind, recipe);
  }
}

int bits_needed(double low_raw, double high_raw, bool is_signed) {
  if (!is_signed && low_raw < 0) return 99;
  int width = 1;
  while (width < 40) {
    const double span = std::ldexp(1.0, width);
    if (is_signed ? (low_raw >= -span / 2 && high_raw < span / 2) : high_raw < span) return width;
    ++width;
  }
  return 99;
}

int round_up_width(int needed, const Recipe& recipe, Rng& rng) {
  if (recipe.packed) {
    for (const int usual : {12, 13, 20}) {
      if (usual >= needed && usual <= needed + 2 && rng.chance(0.5)) return usual;
    }
    return needed + (rng.chance(0.5) ? 0 : rng.integer(1, 2));
  }
  if (needed <= 8) return rng.chance(0.9) ? 8 : 16;
  if (needed <= 16) return 16;
  return needed <= 24 && !recipe.j1939 ? 24 : 32;
}

bool try_draw(Kind kind, Bounds range, const Recipe& recipe, Rng& rng, Encoding& result) {
  const Choices choices = recipe.j1939 ? j1939_choices(kind, recipe) : choices_for(kind, recipe);
  const double scale = rng.pick(choices.scales);
  const Zero zero = rng.pick(choices.zeros);
  const double margin = 8 * scale;  // noise and zero errors must not wrap
  if ((range.high - range.low) / scale < 24) return false;
  double low = (range.low - margin - zero.offset) / scale;
  double high = (range.high + margin - zero.offset) / scale;
  if (!zero.is_signed && zero.offset == 0 && !zero.half_range) low = std::max(low, 0.0);
  const int needed = bits_needed(low, high, zero.is_signed || zero.half_range);
  if (needed > 24) return false;
  result.width = round_up_width(needed, recipe, rng);
  const double reserved = recipe.j1939 ? std::ldexp(251.0, result.width - 8) : 1e18;
  if (high >= reserved) return false;
  result.is_signed = zero.is_signed;
  result.scale = scale;
  result.offset = zero.half_range ? -scale * std::ldexp(1.0, result.width - 1) : zero.offset;
  return true;
}

bool comes_in_a_curve(Kind kind) {
  return kind == Kind::temperature || kind == Kind::insulation || kind == Kind::flow;
}

SensorCurve draw_shape(Kind kind, Bounds range, Rng& rng) {
  SensorCurve curve;
  curve.full = rng.pick(std::vector<double>{1023, 4095, 4095, 65535});
  switch (kind) {
    case Kind::temperature:
      curve.shape = rng.chance(0.8) ? SensorCurve::Shape::divider : SensorCurve::Shape::resistance;
      curve.beta = rng.uniform(3200, 4100);
      curve.ratio = rng.log_uniform(0.2, 3);
      curve.falls = rng.chance(0.5);
      break;
    case Kind::insulation:
      curve.shape = SensorCurve::Shape::reciprocal;
      curve.ratio = rng.uniform(0.1, 0.6) * range.high;
      break;
    default:
      curve.shape = SensorCurve::Shape::root;
      curve.ratio = range.high * rng.uniform(1.2, 2);
  }
  return curve;
}

// A curve on which the range spans enough codes to be told.
Encoding draw_curved(Kind kind, Bounds range, Rng& rng) {
  Encoding result;
  double codes = 0;
  while (codes < 100) {
    result.curve = draw_shape(kind, range, rng);
    codes = std::abs(code_of(result.curve, range.high) - code_of(result.curve, range.low));
  }
  result.width = static_cast<int>(std::lround(std::log2(result.curve.full + 1)));
  if (result.width < 16 && rng.chance(0.7)) result.width = 16;
  result.scale = (range.high - range.low) / codes;
  return result;
}

}  // namespace

std::uint64_t all_ones(int width) { return width >= 64 ? ~0ULL : (1ULL << width) - 1; }

std::uint64_t whole_code(const Encoding& code, double number) {
  const double low = code.is_signed ? -std::ldexp(1.0, code.width - 1) : 0;
  const double high = std::ldexp(1.0, code.is_signed ? code.width - 1 : code.width) - 1;
  const auto whole = static_cast<std::int64_t>(std::clamp(number, low, high));
  return static_cast<std::uint64_t>(whole) & all_ones(code.width);
}

Encoding draw_encoding(Kind kind, Bounds range, const Recipe& recipe, Rng& rng) {
  Encoding result;
  if (recipe.curved && comes_in_a_curve(kind)) return draw_curved(kind, range, rng);
  if (recipe.wide && rng.chance(0.2)) {
    result.width = 32;
    result.is_float = true;
    return result;
  }
  if (recipe.wide && rng.chance(0.2)) {  // 24 bits, some 2^20 codes over the range
    const double codes = rng.uniform(19, 21);
    const double decade = std::floor(std::log10((range.high - range.low) / std::exp2(codes)));
    result.width = 24;
    result.scale = std::pow(10.0, decade);
    result.is_signed = range.low < 0;
    const double largest = std::max(std::abs(range.low), std::abs(range.high)) / result.scale;
    if (largest < 0x1p22) return result;
  }
  for (int attempt = 0; attempt < 200; ++attempt) {
    if (try_draw(kind, range, recipe, rng, result)) return result;
  }
  result.width = 32;  // wide enough for anything
  result.is_signed = range.low < 0;
  result.scale = std::pow(10.0, std::floor(std::log10((range.high - range.low) / 100)));
  result.offset = 0;
  return result;
}

}  // namespace foundling::recovery
