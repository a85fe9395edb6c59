// The checks that the invented board puts into its frames.
#pragma once

#include <cstdint>
#include <span>

namespace foundling::board {

// CRC-8 as in SAE J1850: polynomial 1D, start FF, final exclusive-or FF, not reflected.
[[nodiscard]] std::uint8_t crc8_j1850(std::span<const std::uint8_t> bytes);

[[nodiscard]] std::uint8_t xor8(std::span<const std::uint8_t> bytes);
[[nodiscard]] std::uint8_t sum8(std::span<const std::uint8_t> bytes);

}  // namespace foundling::board
