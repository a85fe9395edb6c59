#include "tools/exchange/decimal_seconds.h"

#include <charconv>
#include <limits>

namespace foundling {
namespace {

constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }

struct Digits {
  std::string_view whole;
  std::string_view fraction;
  int exponent = 0;
};

// Splits "123.45e-6" after its sign; nothing if it is no number.
std::optional<Digits> split(std::string_view text) {
  Digits digits;
  std::size_t at = 0;
  while (at < text.size() && is_digit(text[at])) ++at;
  digits.whole = text.substr(0, at);
  if (at < text.size() && text[at] == '.') {
    const std::size_t start = ++at;
    while (at < text.size() && is_digit(text[at])) ++at;
    digits.fraction = text.substr(start, at - start);
  }
  if (digits.whole.empty() && digits.fraction.empty()) return {};
  if (at == text.size()) return digits;
  if (text[at] != 'e' && text[at] != 'E') return {};
  ++at;
  if (at < text.size() && text[at] == '+') ++at;
  const char* const end = text.data() + text.size();
  const auto [after, failure] = std::from_chars(text.data() + at, end, digits.exponent);
  if (failure != std::errc{} || after != end) return {};
  if (digits.exponent < -400 || digits.exponent > 400) return {};
  return digits;
}

// The digit with weight 10^place, place 0 the units.
int digit_at(const Digits& digits, long place) {
  place -= digits.exponent;
  if (place >= 0) {
    const long index = static_cast<long>(digits.whole.size()) - 1 - place;
    return index < 0 ? 0 : digits.whole[static_cast<std::size_t>(index)] - '0';
  }
  const auto index = static_cast<std::size_t>(-place - 1);
  return index < digits.fraction.size() ? digits.fraction[index] - '0' : 0;
}

}  // namespace

std::optional<DecimalSeconds> parse_seconds(std::string_view text) {
  const bool negative = !text.empty() && text.front() == '-';
  if (negative || (!text.empty() && text.front() == '+')) text.remove_prefix(1);
  const auto digits = split(text);
  if (!digits) return {};
  constexpr std::uint64_t largest = std::numeric_limits<std::int64_t>::max();
  std::uint64_t ns = 0;
  for (long place = static_cast<long>(digits->whole.size()) + digits->exponent; place >= -9;
       --place) {
    const auto digit = static_cast<std::uint64_t>(digit_at(*digits, place));
    if (ns > (largest - digit) / 10) return {};
    ns = ns * 10 + digit;
  }
  DecimalSeconds seconds;
  const long last = digits->exponent - static_cast<long>(digits->fraction.size());
  for (long place = -10; place >= last && !seconds.rounded; --place) {
    seconds.rounded = digit_at(*digits, place) != 0;
  }
  if (seconds.rounded && digit_at(*digits, -10) >= 5 && ns < largest) ++ns;
  seconds.ns = negative ? -static_cast<std::int64_t>(ns) : static_cast<std::int64_t>(ns);
  return seconds;
}

std::vector<std::string> remarks_on_rounded(std::uint64_t times) {
  if (times == 0) return {};
  return {std::to_string(times) + " times had digits below the nanosecond; they were rounded"};
}

void append_seconds(std::string& text, std::int64_t ns) {
  constexpr std::uint64_t second = 1'000'000'000;
  // Negated as unsigned, so that the smallest value has its magnitude too.
  const std::uint64_t size =
      ns < 0 ? 0 - static_cast<std::uint64_t>(ns) : static_cast<std::uint64_t>(ns);
  char buffer[32];
  char* const end = buffer + sizeof buffer;
  char* at = end;
  std::uint64_t fraction = size % second;
  for (int i = 0; i < 9; ++i, fraction /= 10) *--at = static_cast<char>('0' + fraction % 10);
  *--at = '.';
  std::uint64_t whole = size / second;
  do {
    *--at = static_cast<char>('0' + whole % 10);
    whole /= 10;
  } while (whole != 0);
  if (ns < 0) *--at = '-';
  text.append(at, static_cast<std::size_t>(end - at));
}

}  // namespace foundling
