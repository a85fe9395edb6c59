#include "tools/value_text.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <ctime>

namespace foundling {
namespace {

constexpr std::array<char, 200> pairs = [] {
  std::array<char, 200> text{};
  for (std::size_t i = 0; i < 100; ++i) {
    text[2 * i] = static_cast<char>('0' + i / 10);
    text[2 * i + 1] = static_cast<char>('0' + i % 10);
  }
  return text;
}();

char* put_integer(char* out, std::uint64_t value) {
  return std::to_chars(out, out + 24, value).ptr;
}

constexpr std::array<std::uint64_t, 16> powers = [] {
  std::array<std::uint64_t, 16> all{1};
  for (std::size_t i = 1; i < all.size(); ++i) all[i] = all[i - 1] * 10;
  return all;
}();

int digits_of(std::uint64_t value) {
  int digits = 1;
  while (digits < 15 && value >= powers[static_cast<std::size_t>(digits)]) ++digits;
  return digits;
}

// The last `digits` digits of value, in front of `end`; what is left of it.
std::uint64_t put_digits(char* end, std::uint64_t value, int digits) {
  for (; digits >= 2; digits -= 2) {
    end -= 2;
    std::memcpy(end, &pairs[2 * (value % 100)], 2);
    value /= 100;
  }
  if (digits == 0) return value;
  end[-1] = static_cast<char>('0' + value % 10);
  return value / 10;
}

// The point and `digits` digits of `rest`, which is less than 10^digits, without zeros at the end;
// nothing of 0.
char* put_fraction(char* out, std::uint64_t rest, int digits) {
  if (rest == 0) return out;
  for (; rest % 1000 == 0; digits -= 3) rest /= 1000;
  for (; rest % 10 == 0; --digits) rest /= 10;
  *out = '.';
  put_digits(out + 1 + digits, rest, digits);
  return out + 1 + digits;
}

}  // namespace

char* put_seconds(char* out, std::int64_t t_ns) {
  constexpr std::uint64_t second = 1'000'000'000;
  const auto size =
      t_ns < 0 ? ~static_cast<std::uint64_t>(t_ns) + 1 : static_cast<std::uint64_t>(t_ns);
  if (t_ns < 0) *out++ = '-';
  out = put_integer(out, size / second);
  return put_fraction(out, size % second, 9);
}

// Most values are decimals of a few digits, up to the rounding of one product. Where the value is
// within a third of the last of 15 digits of a whole number of millionths, those are its digits;
// everything else takes the library's slower way to the same text.
char* put_number(char* out, double value) {
  constexpr double million = 1e6;
  const double scaled = std::abs(value) * million;
  if (scaled >= 100 && scaled < 1e15) {
    auto whole = static_cast<std::uint64_t>(scaled);
    if (scaled - static_cast<double>(whole) > 0.5) ++whole;
    if (std::abs(scaled - static_cast<double>(whole)) <= 3e-16 * scaled) {
      if (value < 0) *out++ = '-';
      out = put_integer(out, whole / 1'000'000);
      return put_fraction(out, whole % 1'000'000, 6);
    }
  }
  return std::to_chars(out, out + value_text_room, value, std::chars_format::general, 15).ptr;
}

char* put_decimal(char* out, std::int64_t whole, int digits) {
  auto size = static_cast<std::uint64_t>(whole < 0 ? -whole : whole);
  // Below 10^-4 the library writes an exponent.
  if (digits > 4 && size != 0 && size < powers[static_cast<std::size_t>(digits - 4)]) {
    return put_number(out, static_cast<double>(whole) /
                               static_cast<double>(powers[static_cast<std::size_t>(digits)]));
  }
  if (whole < 0) *out++ = '-';
  for (; digits > 0 && size % 10 == 0; --digits) size /= 10;
  const int in_front = std::max(digits_of(size) - digits, 1);
  if (digits > 0) {
    size = put_digits(out + in_front + 1 + digits, size, digits);
    out[in_front] = '.';
  }
  put_digits(out + in_front, size, in_front);
  return out + in_front + (digits > 0 ? 1 + digits : 0);
}

std::string seconds_text(std::int64_t t_ns) {
  std::array<char, value_text_room> text{};
  return {text.data(), put_seconds(text.data(), t_ns)};
}

std::string number_text(double value) {
  std::array<char, value_text_room> text{};
  return {text.data(), put_number(text.data(), value)};
}

std::string utc_text(std::int64_t utc_ns) {
  if (utc_ns == 0) return {};
  constexpr std::int64_t second = 1'000'000'000;
  const std::int64_t whole = utc_ns >= 0 ? utc_ns / second : (utc_ns - second + 1) / second;
  const std::time_t time = whole;
  std::tm parts{};
  if (gmtime_r(&time, &parts) == nullptr) return {};
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%04d-%02d-%02dT%02d:%02d:%02d.%03dZ",
                parts.tm_year + 1900, parts.tm_mon + 1, parts.tm_mday, parts.tm_hour, parts.tm_min,
                parts.tm_sec, static_cast<int>((utc_ns - whole * second) / 1'000'000));
  return text.data();
}

}  // namespace foundling
