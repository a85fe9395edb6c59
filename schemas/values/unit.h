// Units of channels: one spelling each, and exact conversion between those of one quantity.
// A unit not known here is kept as the text it is, converts to nothing but itself, and whoever
// reads it from a file says so. "state" marks a channel of words instead of numbers.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace foundling {

// The project's spelling of a known unit: "degC" -> "°C", "kohm" -> "kΩ". Nothing when unknown.
[[nodiscard]] std::optional<std::string_view> known_unit(std::string_view spelling);

// Every known unit in the project's spelling, to suggest one from.
[[nodiscard]] std::span<const std::string> unit_names();

// to = (from + before) * multiply / divide - after. Multiplier and divisor are whole numbers, so
// that a change of prefix rounds once: 12345 mV is exactly the double nearest to 12.345 V.
struct UnitConversion {
  double before = 0;
  double multiply = 1;
  double divide = 1;
  double after = 0;

  [[nodiscard]] double value(double from) const {
    return (from + before) * multiply / divide - after;
  }
  // A standard uncertainty has no zero point to move.
  [[nodiscard]] double uncertainty(double from) const { return from * multiply / divide; }
};

// Both in any known spelling, or the same text. Nothing when they measure different things.
[[nodiscard]] std::optional<UnitConversion> unit_conversion(std::string_view from,
                                                            std::string_view to);

}  // namespace foundling
