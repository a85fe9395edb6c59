// A number on the command line that has limits. CLI11's own check takes "nan", which is neither
// below a limit nor above one.
#pragma once

#include <CLI/CLI.hpp>
#include <limits>
#include <string>

namespace foundling {

inline constexpr double any_size = std::numeric_limits<double>::max();

inline CLI::Validator number_between(double low, double high) {
  const auto fault = [low, high](const std::string& text) -> std::string {
    double value = 0;
    const bool good =
        CLI::detail::lexical_cast(text, value) && value >= low && value <= high;  // nan is neither
    if (good) return {};
    return "Value " + text + " not in range " + std::to_string(low) + " to " + std::to_string(high);
  };
  return {[fault](std::string& text) { return fault(text); }, "NUMBER"};
}

}  // namespace foundling
