// The payload bits of some frames of one message, transposed: one row a bit, one column a frame,
// with running counts, so that the mean of any bit over any run of frames costs two popcounts.
// Owns a copy of the bits and of the times; refuses nothing. About 13 bytes a frame of 8 bytes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling {

// Bit index within a payload: byte * 8 + bit.
[[nodiscard]] constexpr int bit_index(BitPosition p) { return p.byte * 8 + p.bit; }
[[nodiscard]] constexpr BitPosition bit_position(int index) {
  return {static_cast<std::uint8_t>(index / 8), static_cast<std::uint8_t>(index % 8)};
}

class BitMatrix {
 public:
  // The frames of `message` whose indices are given, in order.
  BitMatrix(const MessageSeries& message, std::span<const std::uint32_t> frames);

  [[nodiscard]] std::size_t frames() const { return t_ns_.size(); }
  [[nodiscard]] int bits() const { return bits_; }
  [[nodiscard]] std::span<const std::int64_t> times() const { return t_ns_; }
  [[nodiscard]] bool at(int bit, std::size_t frame) const {
    return ((words_[row(bit) + frame / 64] >> (frame % 64)) & 1U) != 0;
  }
  // How many of the frames [from, to) have the bit set.
  [[nodiscard]] std::uint32_t ones(int bit, std::size_t from, std::size_t to) const {
    return before(bit, to) - before(bit, from);
  }
  [[nodiscard]] bool moves(int bit) const;  // not the same in all frames
  // The first frame not before t.
  [[nodiscard]] std::size_t first_at(std::int64_t t_ns) const;
  // The field's raw value, unsigned, in every frame.
  [[nodiscard]] std::vector<std::uint64_t> raw(const Span& span) const;

 private:
  [[nodiscard]] std::size_t row(int bit) const {
    return static_cast<std::size_t>(bit) * words_a_row_;
  }
  [[nodiscard]] std::uint32_t before(int bit, std::size_t frame) const;

  int bits_;
  std::size_t words_a_row_;
  std::vector<std::int64_t> t_ns_;
  std::vector<std::uint64_t> words_;
  std::vector<std::uint32_t> counts_;  // ones before each word
};

}  // namespace foundling
