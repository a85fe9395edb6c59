#include "schemas/values/bit_rate.h"

#include <charconv>
#include <cmath>

namespace foundling {

std::optional<std::uint32_t> bit_rate_of(std::string_view text) {
  constexpr double most = 1e9;
  constexpr double whole = 1e-6;  // 83.333k is a whole number but for the rounding of doubles
  const char* const end = text.data() + text.size();
  double value = 0;
  const auto [stop, failure] = std::from_chars(text.data(), end, value, std::chars_format::fixed);
  if (failure != std::errc{}) return std::nullopt;
  std::string_view unit(stop, static_cast<std::size_t>(end - stop));
  while (unit.starts_with(' ')) unit.remove_prefix(1);
  for (const std::string_view word : {"bit/s", "bps"}) {
    if (unit.ends_with(word)) unit.remove_suffix(word.size());
  }
  if (unit == "k" || unit == "K") {
    value *= 1e3;
  } else if (unit == "M") {
    value *= 1e6;
  } else if (!unit.empty()) {
    return std::nullopt;
  }
  const double rounded = std::round(value);
  if (!(rounded >= 0 && rounded <= most) || std::abs(value - rounded) > whole) return std::nullopt;
  return static_cast<std::uint32_t>(rounded);
}

std::string expected_bit_rate(const std::string& found) {
  return "expected a bit rate such as 500000, 500k or 1M, found '" + found + "'";
}

}  // namespace foundling
