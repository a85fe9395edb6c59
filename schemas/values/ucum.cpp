#include "schemas/values/ucum.h"

#include <algorithm>
#include <array>

#include "schemas/values/unit.h"

namespace foundling {
namespace {

struct Code {
  std::string_view unit;  // in our spelling
  std::string_view code;
};

// Prefixes: UCUM 27 (m, u, k, M). Units: 28 to 30 and 43 (s, K, V, A, W, Hz, Pa, Ohm, Cel), 31
// (h, min, L), 42 (bar), 29 (%). Products by a point (18). A turn is no unit there: turns in a
// minute are "/min".
constexpr std::array<Code, 26> codes{{
    {"V", "V"},      {"mV", "mV"},   {"\u00B5V", "uV"}, {"A", "A"},         {"mA", "mA"},
    {"W", "W"},      {"kW", "kW"},   {"Wh", "W.h"},     {"kWh", "kW.h"},    {"Ah", "A.h"},
    {"mAh", "mA.h"}, {"K", "K"},     {"°C", "Cel"},     {"Ω", "Ohm"},       {"mΩ", "mOhm"},
    {"kΩ", "kOhm"},  {"MΩ", "MOhm"}, {"%", "%"},        {"Pa", "Pa"},       {"kPa", "kPa"},
    {"bar", "bar"},  {"Hz", "Hz"},   {"rpm", "/min"},   {"l/min", "L/min"}, {"s", "s"},
    {"ms", "ms"},
}};

}  // namespace

std::string_view ucum_code(std::string_view unit) {
  const auto known = known_unit(unit);
  if (!known) return {};
  const auto* const found =
      std::ranges::find_if(codes, [&](const Code& code) { return code.unit == *known; });
  return found == codes.end() ? std::string_view{} : found->code;
}

}  // namespace foundling
