#include "decoder/analysis/bit_matrix.h"

#include <algorithm>
#include <bit>

namespace foundling {

BitMatrix::BitMatrix(const MessageSeries& message, std::span<const std::uint32_t> frames)
    : bits_(message.length * 8), words_a_row_(frames.size() / 64 + 1) {
  const auto rows = static_cast<std::size_t>(bits_);
  words_.assign(rows * words_a_row_, 0);
  counts_.assign(rows * words_a_row_, 0);
  t_ns_.reserve(frames.size());
  for (std::size_t column = 0; column < frames.size(); ++column) {
    t_ns_.push_back(message.t_ns[frames[column]]);
    const auto payload = message.row(frames[column]);
    for (std::size_t byte = 0; byte < payload.size(); ++byte) {
      for (unsigned left = payload[byte]; left != 0; left &= left - 1) {
        const int bit = static_cast<int>(byte) * 8 + std::countr_zero(left);
        words_[row(bit) + column / 64] |= std::uint64_t{1} << (column % 64);
      }
    }
  }
  for (int bit = 0; bit < bits_; ++bit) {
    std::uint32_t count = 0;
    for (std::size_t word = 0; word < words_a_row_; ++word) {
      counts_[row(bit) + word] = count;
      count += static_cast<std::uint32_t>(std::popcount(words_[row(bit) + word]));
    }
  }
}

std::uint32_t BitMatrix::before(int bit, std::size_t frame) const {
  const std::size_t word = row(bit) + frame / 64;
  const std::uint64_t mask = (std::uint64_t{1} << (frame % 64)) - 1;
  return counts_[word] + static_cast<std::uint32_t>(std::popcount(words_[word] & mask));
}

bool BitMatrix::moves(int bit) const {
  const std::uint32_t all = ones(bit, 0, frames());
  return all != 0 && all != frames();
}

std::size_t BitMatrix::first_at(std::int64_t t_ns) const {
  return static_cast<std::size_t>(std::lower_bound(t_ns_.begin(), t_ns_.end(), t_ns) -
                                  t_ns_.begin());
}

std::vector<std::uint64_t> BitMatrix::raw(const Span& span) const {
  std::vector<std::uint64_t> values(frames(), 0);
  for (int i = 0; i < span.width(); ++i) {
    const std::size_t start = row(bit_index(span.position(i)));
    for (std::size_t frame = 0; frame < values.size(); ++frame) {
      values[frame] |= ((words_[start + frame / 64] >> (frame % 64)) & 1U) << i;
    }
  }
  return values;
}

}  // namespace foundling
