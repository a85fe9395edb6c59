// The rows of one message as the survey's parts read them: 64-bit words, one payload length, a cap
// on their number. Bit index = byte * 8 + bit. Frames of another length than the usual are left
// out.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "decoder/analysis/bit_matrix.h"
#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling {

inline constexpr int payload_words = 8;  // 64 bytes
using BitMask = std::array<std::uint64_t, payload_words>;

struct SurveyRows {
  int length = 0;  // bytes a row
  int words = 0;   // 64-bit words a row
  std::size_t size = 0;
  std::vector<std::uint64_t> bits;    // row-major
  std::vector<std::uint8_t> follows;  // 1 where the row before was recorded just before this one
  BitMask moved{};                    // bits that are not the same in all rows

  [[nodiscard]] const std::uint64_t* row(std::size_t i) const {
    return bits.data() + i * static_cast<std::size_t>(words);
  }
  [[nodiscard]] std::uint8_t byte(std::size_t i, int b) const {
    return static_cast<std::uint8_t>(row(i)[b / 8] >> (b % 8 * 8));
  }
};

// At most `most` rows: all of them, or blocks of neighbours spread evenly over the recording.
[[nodiscard]] SurveyRows survey_rows(const MessageSeries& message, std::size_t most);
[[nodiscard]] SurveyRows thinned(const SurveyRows& rows, std::size_t most);
// Each payload once, where it was first met; the very first rows are left out, because a board may
// not compute its checksums yet when it powers up.
[[nodiscard]] SurveyRows different_rows(const SurveyRows& rows);
// The k-th of `count` places spread over `size`, not at equal steps: an even step could meet a
// counter always at the same value.
[[nodiscard]] std::size_t spread(std::size_t k, std::size_t count, std::size_t size);
// The same rows ordered by the value of a field, so that a page's rows are neighbours.
[[nodiscard]] SurveyRows ordered_by(const SurveyRows& rows, const Span& field);

[[nodiscard]] inline BitPosition bit_at(int index) {
  return {static_cast<std::uint8_t>(index / 8), static_cast<std::uint8_t>(index % 8)};
}
[[nodiscard]] inline bool has_bit(const BitMask& mask, int index) {
  return ((mask[static_cast<std::size_t>(index / 64)] >> (index % 64)) & 1U) != 0;
}
inline void set_bit(BitMask& mask, int index) {
  mask[static_cast<std::size_t>(index / 64)] |= std::uint64_t{1} << (index % 64);
}
void set_span(BitMask& mask, const Span& span);

// Reads one field out of word rows; a span of up to 64 bits.
class FieldReader {
 public:
  explicit FieldReader(const Span& span);
  [[nodiscard]] std::uint64_t operator()(const std::uint64_t* row) const {
    std::uint64_t raw = 0;
    for (int k = 0; k < count_; ++k) {
      const Piece& p = pieces_[static_cast<std::size_t>(k)];
      raw |= ((row[p.word] >> p.shift) & p.mask) << p.up;
    }
    return raw;
  }

 private:
  struct Piece {
    std::uint64_t mask;
    int word, shift, up;
  };
  std::array<Piece, 9> pieces_{};
  int count_ = 0;
};

// Counts, bit by bit, how many of the added rows have the bit set: bit-sliced counters, so that
// adding a row costs a few word operations and not one a bit.
class BitTally {
 public:
  // Of the lowest planes each takes two at a time (a carry-save adder), for of 64 bits some always
  // carry far: so only every eighth row runs through all the planes above.
  void add(int word, std::uint64_t bits) {
    Word& w = words_[static_cast<std::size_t>(word)];
    const std::uint32_t added = w.added++;
    for (std::size_t k = 0; k < waiting_planes; ++k) {
      if (((added >> k) & 1U) == 0) {
        w.waiting[k] = bits;
        return;
      }
      const std::uint64_t either = w.planes[k] ^ w.waiting[k];
      const std::uint64_t carry = (w.planes[k] & w.waiting[k]) | (either & bits);
      w.planes[k] = either ^ bits;
      bits = carry;
    }
    std::size_t k = waiting_planes;
    for (; bits != 0; ++k) {
      const std::uint64_t carry = w.planes[k] & bits;
      w.planes[k] ^= bits;
      bits = carry;
    }
    w.used = std::max(w.used, k);
  }
  [[nodiscard]] std::uint64_t count(int index) const;

 private:
  static constexpr std::size_t waiting_planes = 3;
  struct Word {
    std::array<std::uint64_t, 32> planes{};
    std::array<std::uint64_t, waiting_planes> waiting{};  // where `added` has the plane's bit set
    std::uint32_t added = 0;
    std::size_t used = waiting_planes;  // planes with anything in them
  };
  std::array<Word, payload_words> words_{};
};

// How often each bit differs from the row before, over rows that follow one another.
struct Toggles {
  BitTally tally;
  std::uint64_t pairs = 0;
  [[nodiscard]] double rate(int index) const {
    return pairs == 0 ? 0 : static_cast<double>(tally.count(index)) / static_cast<double>(pairs);
  }
};
[[nodiscard]] Toggles toggles(const SurveyRows& rows);

}  // namespace foundling
