#include "decoder/decode/checksum_formula.h"

#include <algorithm>
#include <charconv>
#include <string_view>

#include "schemas/signals/checksum_words.h"

namespace foundling {
namespace {

std::uint32_t mask_of(int width) {
  return width == 32 ? ~std::uint32_t{0} : (std::uint32_t{1} << width) - 1;
}

std::uint32_t mirrored(std::uint32_t value, int width) {
  std::uint32_t result = 0;
  for (int i = 0; i < width; ++i) result |= ((value >> i) & 1U) << (width - 1 - i);
  return result;
}

std::uint32_t hexadecimal(std::string_view text) {
  std::uint32_t value = 0;
  std::from_chars(text.data(), text.data() + text.size(), value, 16);
  return value;
}

}  // namespace

std::vector<ChecksumFormula> ChecksumFormula::readings_of(const Checksum& checksum, CanId id) {
  if (!unchecked_reason(checksum).empty()) return {};
  const ChecksumKind kind = *checksum_kind(checksum.kind);
  ChecksumFormula plain;
  plain.span_ = checksum.span;
  plain.id_ = id;
  plain.own_first_ = std::min(checksum.span.msb.byte, checksum.span.lsb.byte);
  plain.own_last_ = static_cast<std::size_t>(checksum.span.last_byte());
  plain.to_end_ = !checksum.bytes;
  if (checksum.bytes) {
    plain.first_ = static_cast<std::size_t>(std::min<std::uint64_t>(checksum.bytes->first, 64));
    plain.last_ = static_cast<std::size_t>(std::min<std::uint64_t>(checksum.bytes->last, 64));
  }
  plain.nibbles_ = kind.width == 4;
  if (kind.family == ChecksumKind::Family::exclusive_or) {
    plain.family_ = Family::exclusive_or;
    return {plain};
  }
  if (kind.family == ChecksumKind::Family::sum) {
    std::vector<ChecksumFormula> readings;
    plain.final_xor_ = static_cast<std::uint32_t>(checksum.final_xor.value_or(0));
    const std::uint32_t full = std::uint32_t{1} << kind.width;
    for (const std::uint32_t modulus : {full, full - 1}) {
      for (const bool negated : {false, true}) {
        plain.modulus_ = modulus;
        plain.negated_ = negated;
        readings.push_back(plain);
      }
    }
    return readings;
  }
  if (kind.family == ChecksumKind::Family::crc) {
    plain.family_ = Family::crc;
    plain.width_ = kind.width;
    plain.reflected_ = checksum.reflected;
    plain.fill_table(hexadecimal(checksum.polynomial));
    return {plain};
  }
  plain.family_ = Family::j1939;
  plain.to_end_ = false;
  plain.last_ = 7;
  std::vector<ChecksumFormula> readings{plain};  // three bits (SPN 4207), four bits (SPN 3188)
  plain.nibbles_ = true;
  readings.push_back(plain);
  return readings;
}

void ChecksumFormula::fill_table(std::uint32_t polynomial) {
  const std::uint32_t low_first = mirrored(polynomial, width_);
  for (std::uint32_t byte = 0; byte < 256; ++byte) {
    std::uint32_t crc = reflected_ ? byte : byte << (width_ - 8);
    for (int bit = 0; bit < 8; ++bit) {
      if (reflected_) {
        crc = (crc & 1U) != 0 ? (crc >> 1) ^ low_first : crc >> 1;
      } else {
        const bool out = ((crc >> (width_ - 1)) & 1U) != 0;
        crc = ((crc << 1) & mask_of(width_)) ^ (out ? polynomial : 0);
      }
    }
    table_[byte] = crc;
  }
}

std::optional<std::uint32_t> ChecksumFormula::remainder(
    std::span<const std::uint8_t> payload) const {
  if (payload.size() <= own_last_ || (!to_end_ && payload.size() <= last_)) return {};
  switch (family_) {
    case Family::crc:
      return crc_remainder(payload);
    case Family::j1939:
      return j1939_remainder(payload);
    case Family::exclusive_or:
    case Family::sum:
      break;
  }
  return sum_remainder(payload);
}

// In the four-bit form all nibbles but the checksum's own take part; of its byte, the other one.
std::uint32_t ChecksumFormula::sum_remainder(std::span<const std::uint8_t> payload) const {
  std::uint32_t total = 0;
  const auto take = [&](std::uint32_t part) {
    total = family_ == Family::exclusive_or ? total ^ part : total + part;
  };
  const std::size_t last = to_end_ ? payload.size() - 1 : last_;
  for (std::size_t b = first_; b <= last; ++b) {
    const std::uint32_t byte = payload[b];
    if (!nibbles_) {
      if (!owns(b)) take(byte);
      continue;
    }
    if (!owns(b) || span_.lsb.bit != 0) take(byte & 0xFU);
    if (!owns(b) || span_.lsb.bit != 4) take(byte >> 4U);
  }
  const auto own = static_cast<std::uint32_t>(extract(span_, payload));
  if (family_ == Family::exclusive_or) return total ^ own;
  const std::uint32_t sum = own ^ final_xor_;
  if (negated_) return (total + sum) % modulus_;
  return (sum % modulus_ + modulus_ - total % modulus_) % modulus_;
}

std::uint32_t ChecksumFormula::crc_remainder(std::span<const std::uint8_t> payload) const {
  std::uint32_t crc = 0;
  const std::size_t last = to_end_ ? payload.size() - 1 : last_;
  for (std::size_t b = first_; b <= last; ++b) {
    if (owns(b)) continue;
    if (reflected_) {
      crc = (crc >> 8) ^ table_[(crc ^ payload[b]) & 0xFFU];
    } else {
      crc = ((crc << 8) & mask_of(width_)) ^ table_[((crc >> (width_ - 8)) ^ payload[b]) & 0xFFU];
    }
  }
  return crc ^ static_cast<std::uint32_t>(extract(span_, payload));
}

// SAE J1939-71: bytes 0..6, the low nibble of byte 7 and the identifier's four bytes are summed and
// folded. A good frame leaves 0, so nothing has to be learnt; 1 stands for every other.
std::uint32_t ChecksumFormula::j1939_remainder(std::span<const std::uint8_t> payload) const {
  std::uint32_t sum = payload[7] & 0x0FU;
  for (std::size_t b = 0; b < 7; ++b) sum += payload[b];
  for (int shift = 0; shift < 32; shift += 8) sum += (id_.number() >> shift) & 0xFFU;
  const std::uint32_t mask = nibbles_ ? 0xFU : 7U;
  const std::uint32_t wanted =
      (nibbles_ ? (sum >> 4U) + sum : ((sum >> 6U) & 3U) + (sum >> 3U) + sum) & mask;
  return wanted == ((payload[7] >> 4U) & mask) ? 0 : 1;
}

}  // namespace foundling
