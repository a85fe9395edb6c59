#include "decoder/decode/decimal_line.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace foundling {
namespace {

constexpr double too_large = 1e15;  // more than 15 digits

constexpr std::array<double, 16> powers = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                           1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};

struct Decimal {  // whole × 10^exponent
  double whole = 0;
  int exponent = 0;
};

// The shortest decimal that reads back as that double: what a map's text says.
Decimal decimal_of(double value) {
  std::array<char, 48> text{};
  const char* const end =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::scientific)
          .ptr;
  Decimal decimal;
  int behind_point = 0;
  bool point = false;
  for (const char* at = text.data(); at != end; ++at) {
    if (*at == 'e') {
      ++at;
      std::from_chars(*at == '+' ? at + 1 : at, end, decimal.exponent);
      break;
    }
    if (*at == '.') point = true;
    if (*at < '0' || *at > '9') continue;
    decimal.whole = decimal.whole * 10 + (*at - '0');
    behind_point += point ? 1 : 0;
  }
  if (decimal.whole == 0) return {};
  decimal.exponent -= behind_point;
  if (std::signbit(value)) decimal.whole = -decimal.whole;
  return decimal;
}

// In units of 10^-digits; NaN where that is out of reach.
double in_units(const Decimal& decimal, int digits) {
  const int power = decimal.exponent + digits;
  if (power < 0 || power >= static_cast<int>(powers.size())) return std::nan("");
  return decimal.whole * powers[static_cast<std::size_t>(power)];
}

}  // namespace

DecimalLine decimal_line(double scale, double offset, int width, bool is_signed) {
  const Decimal step = decimal_of(scale);
  const Decimal zero = decimal_of(offset);
  const int digits = std::max({0, -step.exponent, -zero.exponent});
  const DecimalLine as_it_is{scale, offset, 1, 0, false};
  if (digits >= static_cast<int>(powers.size())) return as_it_is;
  DecimalLine line{in_units(step, digits), in_units(zero, digits),
                   powers[static_cast<std::size_t>(digits)], digits, true};
  const double largest = std::ldexp(1.0, is_signed ? width - 1 : width);
  const double sum = largest * std::abs(line.step) + std::abs(line.zero);
  return sum < too_large ? line : as_it_is;  // not so for NaN either
}

}  // namespace foundling
