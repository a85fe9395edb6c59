// A number on the command line that has limits. CLI11's own check takes "nan", which is neither
// below a limit nor above one.
#pragma once

#include <CLI/CLI.hpp>
#include <limits>
#include <string>

namespace foundling {

inline constexpr double any_size = std::numeric_limits<double>::max();

// 0.000001, not 1e-06.
inline std::string plain_decimal(double number) {
  std::string text = std::to_string(number);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text;
}

inline CLI::Validator number_between(double low, double high) {
  const auto fault = [low, high](const std::string& text) -> std::string {
    double value = 0;
    const bool good =
        CLI::detail::lexical_cast(text, value) && value >= low && value <= high;  // nan is neither
    if (good) return {};
    const std::string expected = high == any_size
                                     ? "a number, " + plain_decimal(low) + " or more"
                                     : plain_decimal(low) + " to " + plain_decimal(high);
    return "expected " + expected + ", found '" + text + '\'';
  };
  return {[fault](std::string& text) { return fault(text); }, "NUMBER"};
}

}  // namespace foundling
