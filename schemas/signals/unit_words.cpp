#include "schemas/signals/unit_words.h"

#include <algorithm>
#include <array>

namespace foundling {

std::span<const std::string> known_units() {
  static const std::array<std::string, 22> units{
      "V", "mV", "A", "mA", "W",   "kW",  "Wh", "kWh", "Ah",    "°C", "K",
      "Ω", "kΩ", "%", "Pa", "kPa", "bar", "Hz", "rpm", "l/min", "s",  "state"};
  return units;
}

bool is_known_unit(std::string_view unit) {
  return std::ranges::find(known_units(), unit) != known_units().end();
}

}  // namespace foundling
