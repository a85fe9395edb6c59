// How a field's bits stand for a number.
#pragma once

#include <bit>
#include <cstdint>
#include <limits>

#include "schemas/values/span.h"

namespace foundling {

enum class Coding : std::uint8_t {
  natural,
  twos_complement,
  ieee754,          // 32 or 64 bits
  sign_magnitude,   // the top bit says minus
  ones_complement,  // all bits turned over say minus
  decimal,          // four bits a digit
};

// Whether the number is a sum of the bits with fixed weights, so that means of bits say its mean.
[[nodiscard]] constexpr bool is_plain(Coding coding) {
  return coding == Coding::natural || coding == Coding::twos_complement;
}

// NaN where a digit is above nine.
[[nodiscard]] inline double number_of_digits(std::uint64_t raw) {
  std::uint64_t number = 0;
  for (int shift = 60; shift >= 0; shift -= 4) {
    const std::uint64_t digit = (raw >> shift) & 0xFU;
    if (digit > 9) return std::numeric_limits<double>::quiet_NaN();
    number = number * 10 + digit;
  }
  return static_cast<double>(number);
}

// The number that a raw value of so many bits, at most 64, stands for.
[[nodiscard]] inline double number_of(std::uint64_t raw, int width, Coding coding) {
  const std::uint64_t all = ~std::uint64_t{0} >> (64 - width);
  const bool minus = raw > all / 2;  // the top bit
  switch (coding) {
    case Coding::natural:
      break;
    case Coding::twos_complement:
      return static_cast<double>(sign_extend(raw, width));
    case Coding::ieee754:
      if (width == 64) return std::bit_cast<double>(raw);
      return static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(raw)));
    case Coding::sign_magnitude:
      return minus ? -static_cast<double>(raw & (all / 2)) : static_cast<double>(raw);
    case Coding::ones_complement:
      return minus ? -static_cast<double>(all - raw) : static_cast<double>(raw);
    case Coding::decimal:
      return number_of_digits(raw);
  }
  return static_cast<double>(raw);
}

}  // namespace foundling
