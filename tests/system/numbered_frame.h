// The frames that the guest tests send: number n of a seed is always the same frame, so that the
// receiver's side can tell which were stored, in which order, and whether a byte was changed.
#pragma once

#include <array>
#include <cstdint>

#include "schemas/values/frame.h"

namespace foundling::guest {

// SplitMix64 (Steele, Lea and Flood 2014): scatters consecutive numbers.
inline std::uint64_t scatter(std::uint64_t x) {
  x += 0x9E3779B97F4A7C15ULL;
  x = (x ^ (x >> 30U)) * 0xBF58476D1CE4E5B9ULL;
  x = (x ^ (x >> 27U)) * 0x94D049BB133111EBULL;
  return x ^ (x >> 31U);
}

// The first four payload bytes are the number, low byte first; identifier, length and the rest
// follow from the seed.
inline Frame numbered_frame(std::uint64_t seed, std::uint32_t number, bool fd) {
  const std::uint64_t dice = scatter(seed ^ scatter(number));
  Frame frame;
  const auto id = static_cast<std::uint32_t>(dice);
  frame.id = (dice >> 32U & 1U) != 0 ? CanId::extended(id) : CanId::standard(id);
  if (fd) {
    constexpr std::array<std::uint8_t, 12> lengths{4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64};
    frame.length = lengths[(dice >> 40U) % lengths.size()];
    frame.flags = fd_flag_fd_format;
    if ((dice >> 33U & 1U) != 0) frame.flags |= fd_flag_bit_rate_switch;
  } else {
    frame.length = static_cast<std::uint8_t>(4 + (dice >> 40U) % 5);
  }
  for (std::size_t i = 0; i < frame.length; ++i) {
    frame.payload[i] = static_cast<std::uint8_t>(i < 4 ? number >> (8 * i) : scatter(dice + i));
  }
  return frame;
}

inline std::uint32_t number_of(const Frame& frame) {
  std::uint32_t number = 0;
  for (std::size_t i = 4; i-- > 0;) number = number << 8U | frame.payload[i];
  return number;
}

}  // namespace foundling::guest
