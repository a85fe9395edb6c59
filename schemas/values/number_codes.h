// Numbers in codes that are no sum of their bits. `raw` holds the field's bits alone, `all` its
// bits set; the top bit of a field with a sign says minus. Minus zero is zero.
#pragma once

#include <cstdint>
#include <limits>

namespace foundling {

[[nodiscard]] inline double from_sign_magnitude(std::uint64_t raw, std::uint64_t all) {
  const auto size = static_cast<double>(raw & (all / 2));
  return raw > all / 2 && size != 0 ? -size : size;
}

[[nodiscard]] inline double from_ones_complement(std::uint64_t raw, std::uint64_t all) {
  if (raw <= all / 2) return static_cast<double>(raw);
  return raw == all ? 0 : -static_cast<double>(all - raw);
}

// Four bits a digit; NaN where one is above nine.
[[nodiscard]] inline double from_digits(std::uint64_t raw) {
  std::uint64_t number = 0;
  for (int shift = 60; shift >= 0; shift -= 4) {
    const std::uint64_t digit = (raw >> shift) & 0xFU;
    if (digit > 9) return std::numeric_limits<double>::quiet_NaN();
    number = number * 10 + digit;
  }
  return static_cast<double>(number);
}

}  // namespace foundling
