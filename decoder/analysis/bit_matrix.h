// The payload bits of some frames of one message, transposed: a column a frame, a row for each bit
// that is not the same in all of them, with running counts, so that the mean of any bit over any
// run of frames costs two popcounts. All rows' words for the same 64 frames lie side by side: who
// asks for one bit of some frames mostly asks for its neighbours too.
// Owns a copy of the bits and of the times; refuses nothing. 9 bytes a frame, and 1.5 for every
// eight bits that move.
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
  [[nodiscard]] int bits() const { return static_cast<int>(row_of_.size()); }
  [[nodiscard]] std::span<const std::int64_t> times() const { return t_ns_; }
  [[nodiscard]] bool at(int bit, std::size_t frame) const {
    const int row = row_of_[static_cast<std::size_t>(bit)];
    return row < 0 ? row == always_one : ((words_[place(row, frame)] >> (frame % 64)) & 1U) != 0;
  }
  // How many of the frames [from, to) have the bit set.
  [[nodiscard]] std::uint32_t ones(int bit, std::size_t from, std::size_t to) const;
  // The same for every bit that moves, in the order of moving(); counts.size() == moving().size().
  void ones_of_moving(std::size_t from, std::size_t to, std::span<std::uint32_t> counts) const;
  // The bits that are not the same in all frames, ascending.
  [[nodiscard]] std::span<const int> moving() const { return moving_; }
  [[nodiscard]] bool moves(int bit) const { return row_of_[static_cast<std::size_t>(bit)] >= 0; }
  // The first frame not before t.
  [[nodiscard]] std::size_t first_at(std::int64_t t_ns) const;
  // The field's raw value, unsigned, in every frame.
  [[nodiscard]] std::vector<std::uint64_t> raw(const Span& span) const;

 private:
  static constexpr int always_zero = -1;
  static constexpr int always_one = -2;

  [[nodiscard]] std::size_t place(int row, std::size_t frame) const {
    return frame / 64 * moving_.size() + static_cast<std::size_t>(row);
  }
  void index_times();

  std::vector<int> row_of_;  // of each payload bit: its row, always_zero or always_one
  std::vector<int> moving_;  // of each row: its bit
  std::vector<std::int64_t> t_ns_;
  std::vector<std::uint64_t> words_;
  std::vector<std::uint32_t> counts_;  // ones before each word
  // Time in equal steps, and the first frame of each step: so that a frame is found by its time
  // without a search through all of them.
  std::int64_t step_ns_ = 1;
  std::vector<std::uint32_t> first_of_step_;
};

}  // namespace foundling
