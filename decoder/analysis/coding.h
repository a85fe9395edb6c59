// How a field's bits stand for a number.
#pragma once

#include <bit>
#include <cstdint>

#include "schemas/values/span.h"

namespace foundling {

enum class Coding : std::uint8_t { natural, twos_complement, ieee754 };

// The number that a raw value stands for; ieee754 needs a width of 32 or 64.
[[nodiscard]] inline double number_of(std::uint64_t raw, int width, Coding coding) {
  if (coding == Coding::twos_complement) return static_cast<double>(sign_extend(raw, width));
  if (coding == Coding::natural) return static_cast<double>(raw);
  if (width == 64) return std::bit_cast<double>(raw);
  return static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(raw)));
}

}  // namespace foundling
