// Numbers in tables and on the command line: the whole text, a point for decimals, finite.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace foundling {

[[nodiscard]] std::optional<double> parse_number(std::string_view text);

// The shortest text that reads back as the same number.
[[nodiscard]] std::string shortest_number(double number);

// The same for a person: to 15 digits, which every number that was typed with as many keeps.
// What only rounding has put behind them is left out: 34.8, not 34.800000000000004.
[[nodiscard]] std::string shown_number(double number);

// A number with what follows it: "12.5A", "-3 mV". Nothing unless it begins with a number.
struct NumberAndRest {
  double number;
  std::string_view rest;  // without blanks around
};
[[nodiscard]] std::optional<NumberAndRest> parse_leading_number(std::string_view text);

}  // namespace foundling
