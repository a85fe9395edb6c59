// How a field's bits stand for a number.
#pragma once

#include <bit>
#include <cstdint>

#include "schemas/values/number_codes.h"
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

// The number that a raw value of so many bits, at most 64, stands for.
[[nodiscard]] inline double number_of(std::uint64_t raw, int width, Coding coding) {
  const std::uint64_t all = ~std::uint64_t{0} >> (64 - width);
  switch (coding) {
    case Coding::natural:
      break;
    case Coding::twos_complement:
      return static_cast<double>(sign_extend(raw, width));
    case Coding::ieee754:
      if (width == 64) return std::bit_cast<double>(raw);
      return static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(raw)));
    case Coding::sign_magnitude:
      return from_sign_magnitude(raw, all);
    case Coding::ones_complement:
      return from_ones_complement(raw, all);
    case Coding::decimal:
      return from_digits(raw);
  }
  return static_cast<double>(raw);
}

}  // namespace foundling
