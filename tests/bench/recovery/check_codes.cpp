#include "tests/bench/recovery/check_codes.h"

#include <algorithm>
#include <cstddef>

namespace foundling::recovery {
namespace {

std::uint32_t reverse(std::uint32_t value, int width) {
  std::uint32_t result = 0;
  for (int i = 0; i < width; ++i) result |= ((value >> i) & 1U) << (width - 1 - i);
  return result;
}

std::vector<std::uint8_t> covered_bytes(const CheckCode& code, const Span& place, CanId id,
                                        std::span<const std::uint8_t> payload) {
  std::vector<std::uint8_t> bytes = code.hidden_prefix;
  if (code.includes_identifier) {
    const int count = id.is_extended() ? 4 : 2;
    for (int i = 0; i < count; ++i) {
      bytes.push_back(static_cast<std::uint8_t>(id.number() >> (8 * i)));
    }
  }
  const int first = std::min(place.msb.byte, place.lsb.byte);
  for (int i = 0; i < static_cast<int>(payload.size()); ++i) {
    if (i < first || i > place.last_byte()) bytes.push_back(payload[static_cast<std::size_t>(i)]);
  }
  return bytes;
}

// SAE J1939-71 SPN 4207: byte sum of bytes 1..7, the counter (low nibble of byte 8) and the four
// identifier bytes, folded to three bits.
std::uint32_t j1939_checksum(CanId id, std::span<const std::uint8_t> payload) {
  std::uint32_t sum = payload[7] & 0x0FU;
  for (std::size_t i = 0; i < 7; ++i) sum += payload[i];
  for (unsigned i = 0; i < 4; ++i) sum += (id.number() >> (8 * i)) & 0xFFU;
  return (((sum >> 6U) & 3U) + (sum >> 3U) + sum) & 7U;
}

}  // namespace

std::uint32_t crc(const CheckCode& code, std::span<const std::uint8_t> bytes) {
  const std::uint32_t top = 1U << (code.width - 1);
  const std::uint32_t mask = top | (top - 1);
  std::uint32_t remainder = code.initial;
  for (const std::uint8_t byte : bytes) {
    const std::uint32_t in = code.reflected ? reverse(byte, 8) : byte;
    remainder ^= in << (code.width - 8);
    for (int bit = 0; bit < 8; ++bit) {
      const bool out = (remainder & top) != 0;
      remainder = (remainder << 1U) & mask;
      if (out) remainder ^= code.polynomial;
    }
  }
  if (code.reflected) remainder = reverse(remainder, code.width);
  return remainder ^ code.final_xor;
}

std::uint32_t check_value(const CheckCode& code, const Span& place, CanId id,
                          std::span<const std::uint8_t> payload) {
  if (code.kind == "j1939") return j1939_checksum(id, payload);
  const std::vector<std::uint8_t> bytes = covered_bytes(code, place, id, payload);
  if (code.polynomial != 0) return crc(code, bytes);
  std::uint32_t value = code.initial;
  for (const std::uint8_t byte : bytes) value = code.kind == "xor8" ? value ^ byte : value + byte;
  return (value & 0xFFU) ^ code.final_xor;
}

std::string polynomial_text(const CheckCode& code) {
  if (code.polynomial == 0) return {};
  static constexpr char digits[] = "0123456789ABCDEF";
  std::string text;
  for (int shift = code.width - 4; shift >= 0; shift -= 4) {
    text += digits[(code.polynomial >> shift) & 15U];
  }
  return text;
}

}  // namespace foundling::recovery
