#include "decoder/analysis/crc_register.h"

namespace foundling {
namespace {

std::uint32_t mirrored(std::uint32_t value, int width) {
  std::uint32_t result = 0;
  for (int i = 0; i < width; ++i) result |= ((value >> i) & 1U) << (width - 1 - i);
  return result;
}

}  // namespace

CrcRegister::CrcRegister(int width, std::uint32_t polynomial, bool reflected)
    : width_(width),
      reflected_(reflected),
      mask_(width == 32 ? ~std::uint32_t{0} : (std::uint32_t{1} << width) - 1) {
  const std::uint32_t low_first = mirrored(polynomial, width);
  for (std::uint32_t byte = 0; byte < 256; ++byte) {
    std::uint32_t crc = reflected ? byte : byte << (width - 8);
    for (int bit = 0; bit < 8; ++bit) {
      if (reflected) {
        crc = (crc & 1U) != 0 ? (crc >> 1) ^ low_first : crc >> 1;
      } else {
        const bool out = ((crc >> (width - 1)) & 1U) != 0;
        crc = (crc << 1) & mask_;
        if (out) crc ^= polynomial;
      }
    }
    table_[byte] = crc;
  }
}

std::uint32_t CrcRegister::start(std::uint32_t initial) const {
  return reflected_ ? mirrored(initial, width_) : initial;
}

}  // namespace foundling
