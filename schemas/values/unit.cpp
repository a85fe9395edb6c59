#include "schemas/values/unit.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <numeric>
#include <vector>

namespace foundling {
namespace {

enum class Quantity : std::uint8_t {
  voltage,
  current,
  power,
  energy,
  charge,
  temperature,
  resistance,
  ratio,
  pressure,
  frequency,
  flow,
  time,
  state,
};

struct Unit {
  std::string_view name;
  Quantity quantity;
  std::int64_t multiply;  // to the quantity's first unit
  std::int64_t divide;
  double zero;  // added before
};

constexpr std::array<Unit, 27> units{{
    {"V", Quantity::voltage, 1, 1, 0},
    {"mV", Quantity::voltage, 1, 1000, 0},
    {"\u00B5V", Quantity::voltage, 1, 1000000, 0},
    {"A", Quantity::current, 1, 1, 0},
    {"mA", Quantity::current, 1, 1000, 0},
    {"W", Quantity::power, 1, 1, 0},
    {"kW", Quantity::power, 1000, 1, 0},
    {"Wh", Quantity::energy, 1, 1, 0},
    {"kWh", Quantity::energy, 1000, 1, 0},
    {"Ah", Quantity::charge, 1, 1, 0},
    {"K", Quantity::temperature, 1, 1, 0},
    {"°C", Quantity::temperature, 1, 1, 273.15},  // SI brochure, 2.3.1: t/°C = T/K - 273.15
    {"Ω", Quantity::resistance, 1, 1, 0},
    {"mΩ", Quantity::resistance, 1, 1000, 0},
    {"kΩ", Quantity::resistance, 1000, 1, 0},
    {"MΩ", Quantity::resistance, 1000000, 1, 0},
    {"%", Quantity::ratio, 1, 1, 0},
    {"Pa", Quantity::pressure, 1, 1, 0},
    {"kPa", Quantity::pressure, 1000, 1, 0},
    {"bar", Quantity::pressure, 100000, 1, 0},
    {"Hz", Quantity::frequency, 1, 1, 0},
    {"rpm", Quantity::frequency, 1, 60, 0},
    {"l/min", Quantity::flow, 1, 1, 0},
    {"s", Quantity::time, 1, 1, 0},
    {"ms", Quantity::time, 1, 1000, 0},
    {"mAh", Quantity::charge, 1, 1000, 0},
    {"state", Quantity::state, 1, 1, 0},
}};

struct Spelling {
  std::string_view other;
  std::string_view name;
};

constexpr std::array<Spelling, 35> spellings{{
    {"C", "°C"},
    {"degC", "°C"},
    {"deg C", "°C"},
    {"\u2103", "°C"},
    {"\u00BAC", "°C"},
    {"celsius", "°C"},
    {"ohm", "Ω"},
    {"Ohm", "Ω"},
    {"ohms", "Ω"},
    {"\u2126", "Ω"},
    {"R", "Ω"},
    {"kohm", "kΩ"},
    {"kOhm", "kΩ"},
    {"kohms", "kΩ"},
    {"k\u2126", "kΩ"},
    {"percent", "%"},
    {"L/min", "l/min"},
    {"lpm", "l/min"},
    {"r/min", "rpm"},
    {"1/min", "rpm"},
    {"sec", "s"},
    {"volt", "V"},
    {"Volt", "V"},
    {"volts", "V"},
    {"amp", "A"},
    {"amps", "A"},
    {"kelvin", "K"},
    // The micro sign and the Greek letter look alike, and a keyboard may have neither.
    {"\u03BCV", "\u00B5V"},
    {"uV", "\u00B5V"},
    {"mohm", "mΩ"},
    {"mOhm", "mΩ"},
    {"m\u2126", "mΩ"},
    {"Mohm", "MΩ"},
    {"MOhm", "MΩ"},
    {"M\u2126", "MΩ"},
}};

const Unit* find(std::string_view spelling) {
  const auto alias = std::find_if(spellings.begin(), spellings.end(),
                                  [&](const Spelling& s) { return s.other == spelling; });
  const std::string_view name = alias == spellings.end() ? spelling : alias->name;
  const auto unit =
      std::find_if(units.begin(), units.end(), [&](const Unit& u) { return u.name == name; });
  return unit == units.end() ? nullptr : &*unit;
}

}  // namespace

std::optional<std::string_view> known_unit(std::string_view spelling) {
  const Unit* const unit = find(spelling);
  if (unit == nullptr) return {};
  return unit->name;
}

std::span<const std::string> unit_names() {
  static const std::vector<std::string> names = [] {
    std::vector<std::string> all;
    for (const Unit& unit : units) all.emplace_back(unit.name);
    return all;
  }();
  return names;
}

std::optional<UnitConversion> unit_conversion(std::string_view from, std::string_view to) {
  if (from == to) return UnitConversion{};
  const Unit* const source = find(from);
  const Unit* const target = find(to);
  if (source == nullptr || target == nullptr || source->quantity != target->quantity) return {};
  const std::int64_t multiply = source->multiply * target->divide;
  const std::int64_t divide = source->divide * target->multiply;
  const std::int64_t shared = std::gcd(multiply, divide);
  // Equal zero points cancel without rounding: °C in two spellings.
  const bool moved = source->zero != target->zero;
  const std::int64_t reduced_multiply = multiply / shared;  // exact: the common divisor
  const std::int64_t reduced_divide = divide / shared;
  return UnitConversion{moved ? source->zero : 0, static_cast<double>(reduced_multiply),
                        static_cast<double>(reduced_divide), moved ? target->zero : 0};
}

}  // namespace foundling
