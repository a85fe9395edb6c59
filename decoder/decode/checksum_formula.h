// A checksum of a signal map, recomputed. Every kind leaves a remainder of payload and checksum
// that is the same in all good frames of a message, whatever start value, final value, identifier
// or hidden constant takes part (a CRC is affine over a fixed number of bytes; a sum only shifts).
// So the constant is learnt from the frames, and a map needs not say it; but for the final value of
// a sum, which is no shift. Used by the sanity watch.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "schemas/signals/signal_map.h"

namespace foundling {

class ChecksumFormula {
 public:
  // The readings that a statement leaves open (a sum may be complemented, or carry around); none
  // for one that is not checked (checksum_words.h).
  static std::vector<ChecksumFormula> readings_of(const Checksum& checksum, CanId id);

  // Nothing where the payload is too short.
  [[nodiscard]] std::optional<std::uint32_t> remainder(std::span<const std::uint8_t> payload) const;

 private:
  enum class Family : std::uint8_t { exclusive_or, sum, crc, j1939 };

  [[nodiscard]] bool owns(std::size_t byte) const {
    return byte >= own_first_ && byte <= own_last_;
  }
  [[nodiscard]] std::uint32_t sum_remainder(std::span<const std::uint8_t> payload) const;
  [[nodiscard]] std::uint32_t crc_remainder(std::span<const std::uint8_t> payload) const;
  [[nodiscard]] std::uint32_t j1939_remainder(std::span<const std::uint8_t> payload) const;
  void fill_table(std::uint32_t polynomial);

  Family family_ = Family::sum;
  Span span_;
  CanId id_;
  std::size_t first_ = 0;  // bytes that take part, less the checksum's own
  std::size_t last_ = 0;
  bool to_end_ = false;  // up to the payload's end
  std::size_t own_first_ = 0;
  std::size_t own_last_ = 0;
  bool nibbles_ = false;  // four-bit forms: nibbles take part instead of bytes
  bool negated_ = false;
  std::uint32_t modulus_ = 256;
  std::uint32_t final_xor_ = 0;  // of a sum
  int width_ = 8;
  bool reflected_ = false;
  std::array<std::uint32_t, 256> table_{};
};

}  // namespace foundling
