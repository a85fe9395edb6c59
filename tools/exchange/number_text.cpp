#include "tools/exchange/number_text.h"

#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <limits>

namespace foundling {

std::optional<NumberAndRest> parse_leading_number(std::string_view text) {
  std::string_view digits = text;
  if (!digits.empty() && digits.front() == '+') digits.remove_prefix(1);
  // Words such as "inf" or "nan" are no readings.
  const std::size_t first = digits.find_first_not_of("-.");
  if (first == std::string_view::npos || first > 2) return {};
  if (digits[first] < '0' || digits[first] > '9') return {};
  double number = 0;
  const char* const end = digits.data() + digits.size();
  const auto [after, failure] = std::from_chars(digits.data(), end, number);
  if (failure != std::errc{} || !std::isfinite(number)) return {};
  std::string_view rest(after, static_cast<std::size_t>(end - after));
  while (!rest.empty() && rest.front() == ' ') rest.remove_prefix(1);
  while (!rest.empty() && rest.back() == ' ') rest.remove_suffix(1);
  return NumberAndRest{number, rest};
}

std::optional<double> parse_number(std::string_view text) {
  const auto parts = parse_leading_number(text);
  if (!parts || !parts->rest.empty() || text.back() == ' ') return {};
  return parts->number;
}

std::string shortest_number(double number) {
  std::array<char, 32> buffer{};
  const auto [end, failure] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), number);
  (void)failure;  // 32 characters hold every double
  return {buffer.data(), end};
}

std::string shown_number(double number) {
  std::array<char, 40> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%.*g", std::numeric_limits<double>::digits10,
                number);
  return shortest_number(parse_number(buffer.data()).value_or(number));
}

}  // namespace foundling
