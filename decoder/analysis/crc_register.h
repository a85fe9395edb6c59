// A cyclic redundancy check with any polynomial, of 8 to 32 bits, byte by byte. The linear part is
// what remains when start and final value are zero.
#pragma once

#include <array>
#include <cstdint>

namespace foundling {

class CrcRegister {
 public:
  CrcRegister(int width, std::uint32_t polynomial, bool reflected);

  [[nodiscard]] std::uint32_t step(std::uint32_t crc, std::uint8_t byte) const {
    if (reflected_) return (crc >> 8) ^ table_[(crc ^ byte) & 0xFFU];
    return ((crc << 8) & mask_) ^ table_[((crc >> (width_ - 8)) ^ byte) & 0xFFU];
  }
  // The start value as the register holds it: mirrored for a reflected check.
  [[nodiscard]] std::uint32_t start(std::uint32_t initial) const;

 private:
  int width_;
  bool reflected_;
  std::uint32_t mask_;
  std::array<std::uint32_t, 256> table_{};
};

}  // namespace foundling
