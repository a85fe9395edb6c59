#include "decoder/analysis/bit_matrix.h"

#include <algorithm>
#include <bit>

namespace foundling {
namespace {

constexpr std::size_t frames_a_step = 16;  // on average, between two entries of the time index

// Counted in parallel sums rather than by std::popcount: a compiler makes vectors of this on every
// machine, and calls a function for each word where it may not rely on the instruction.
constexpr std::uint32_t population(std::uint64_t word) {
  word -= (word >> 1) & 0x5555'5555'5555'5555U;
  word = (word & 0x3333'3333'3333'3333U) + ((word >> 2) & 0x3333'3333'3333'3333U);
  word = (word + (word >> 4)) & 0x0F0F'0F0F'0F0F'0F0FU;
  word += word >> 8;
  word += word >> 16;
  word += word >> 32;
  return static_cast<std::uint32_t>(word & 0x7FU);
}

bool is_set(std::span<const std::uint8_t> bytes, std::size_t bit) {
  return ((unsigned{bytes[bit / 8]} >> (bit % 8)) & 1U) != 0;
}

constexpr std::uint64_t bits_before(std::size_t frame) {
  return (std::uint64_t{1} << (frame % 64)) - 1;
}

}  // namespace

BitMatrix::BitMatrix(const MessageSeries& message, std::span<const std::uint32_t> frames)
    : row_of_(static_cast<std::size_t>(message.length) * 8, always_zero) {
  t_ns_.reserve(frames.size());
  for (const std::uint32_t frame : frames) t_ns_.push_back(message.t_ns[frame]);
  index_times();
  if (frames.empty()) return;

  std::vector<std::uint8_t> changed(message.length, 0);
  const auto first = message.row(frames.front());
  for (const std::uint32_t frame : frames) {
    const auto payload = message.row(frame);
    for (std::size_t byte = 0; byte < payload.size(); ++byte) {
      changed[byte] |= static_cast<std::uint8_t>(payload[byte] ^ first[byte]);
    }
  }
  for (std::size_t bit = 0; bit < row_of_.size(); ++bit) {
    if (is_set(changed, bit)) {
      row_of_[bit] = static_cast<int>(moving_.size());
      moving_.push_back(static_cast<int>(bit));
    } else if (is_set(first, bit)) {
      row_of_[bit] = always_one;
    }
  }

  words_.assign((frames.size() / 64 + 1) * moving_.size(), 0);
  counts_.assign(words_.size(), 0);
  for (std::size_t column = 0; column < frames.size(); ++column) {
    const auto payload = message.row(frames[column]);
    for (std::size_t byte = 0; byte < payload.size(); ++byte) {
      for (unsigned left = payload[byte] & changed[byte]; left != 0; left &= left - 1) {
        const std::size_t bit = byte * 8 + static_cast<std::size_t>(std::countr_zero(left));
        words_[place(row_of_[bit], column)] |= std::uint64_t{1} << (column % 64);
      }
    }
  }
  for (std::size_t i = moving_.size(); i < words_.size(); ++i) {
    const std::size_t before = i - moving_.size();
    counts_[i] = counts_[before] + population(words_[before]);
  }
}

void BitMatrix::index_times() {
  if (t_ns_.empty()) return;
  const std::size_t steps = t_ns_.size() / frames_a_step + 1;
  step_ns_ = (t_ns_.back() - t_ns_.front()) / static_cast<std::int64_t>(steps) + 1;
  first_of_step_.reserve(steps + 1);
  for (std::size_t frame = 0; frame < t_ns_.size(); ++frame) {
    const auto step = static_cast<std::size_t>((t_ns_[frame] - t_ns_.front()) / step_ns_);
    while (first_of_step_.size() <= step) {
      first_of_step_.push_back(static_cast<std::uint32_t>(frame));
    }
  }
  first_of_step_.push_back(static_cast<std::uint32_t>(t_ns_.size()));
}

std::uint32_t BitMatrix::ones(int bit, std::size_t from, std::size_t to) const {
  const int row = row_of_[static_cast<std::size_t>(bit)];
  if (row < 0) return row == always_one ? static_cast<std::uint32_t>(to - from) : 0;
  const std::size_t a = place(row, from);
  const std::size_t b = place(row, to);
  return counts_[b] + population(words_[b] & bits_before(to)) - counts_[a] -
         population(words_[a] & bits_before(from));
}

void BitMatrix::ones_of_moving(std::size_t from, std::size_t to,
                               std::span<std::uint32_t> counts) const {
  const std::size_t a = place(0, from);
  const std::size_t b = place(0, to);
  const std::uint64_t mask_a = bits_before(from);
  const std::uint64_t mask_b = bits_before(to);
  for (std::size_t row = 0; row < counts.size(); ++row) {
    counts[row] = counts_[b + row] + population(words_[b + row] & mask_b) - counts_[a + row] -
                  population(words_[a + row] & mask_a);
  }
}

std::size_t BitMatrix::first_at(std::int64_t t_ns) const {
  if (t_ns_.empty() || t_ns <= t_ns_.front()) return 0;
  if (t_ns > t_ns_.back()) return t_ns_.size();
  const auto step = static_cast<std::size_t>((t_ns - t_ns_.front()) / step_ns_);
  const auto begin = t_ns_.begin();
  const auto from = begin + first_of_step_[step];
  const auto to = begin + first_of_step_[step + 1];
  return static_cast<std::size_t>(std::lower_bound(from, to, t_ns) - begin);
}

std::vector<std::uint64_t> BitMatrix::raw(const Span& span) const {
  std::vector<std::uint64_t> values(frames(), 0);
  for (int i = 0; i < span.width(); ++i) {
    const int row = row_of_[static_cast<std::size_t>(bit_index(span.position(i)))];
    if (row == always_zero) continue;
    for (std::size_t frame = 0; frame < values.size(); frame += 64) {
      const std::uint64_t word = row == always_one ? ~std::uint64_t{0} : words_[place(row, frame)];
      const std::size_t count = std::min<std::size_t>(64, values.size() - frame);
      for (std::size_t k = 0; k < count; ++k) values[frame + k] |= ((word >> k) & 1U) << i;
    }
  }
  return values;
}

}  // namespace foundling
