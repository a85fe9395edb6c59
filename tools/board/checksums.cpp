#include "tools/board/checksums.h"

#include <numeric>

namespace foundling::board {

std::uint8_t crc8_j1850(std::span<const std::uint8_t> bytes) {
  unsigned crc = 0xFF;
  for (const std::uint8_t byte : bytes) {
    crc ^= byte;
    for (int bit = 0; bit < 8; ++bit) crc = (crc << 1) ^ ((crc & 0x80U) != 0 ? 0x11DU : 0U);
  }
  return static_cast<std::uint8_t>(crc ^ 0xFFU);
}

std::uint8_t xor8(std::span<const std::uint8_t> bytes) {
  return static_cast<std::uint8_t>(std::accumulate(bytes.begin(), bytes.end(), 0U,
                                                   [](unsigned a, unsigned b) { return a ^ b; }));
}

std::uint8_t sum8(std::span<const std::uint8_t> bytes) {
  return static_cast<std::uint8_t>(std::accumulate(bytes.begin(), bytes.end(), 0U));
}

}  // namespace foundling::board
