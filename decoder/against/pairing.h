// The two recordings' messages side by side, and what of a message is judged on its own: streams of
// rows (a page each), and the bits that counters, checksums and selectors own.
#pragma once

#include <bitset>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "decoder/against/against.h"

namespace foundling::held {

using BitSet = std::bitset<512>;  // a bit of the payload: byte * 8 + 7 - bit, as they are sent

[[nodiscard]] constexpr std::size_t bit_number(BitPosition p) {
  return p.byte * std::size_t{8} + 7 - p.bit;
}
[[nodiscard]] constexpr BitPosition bit_place(std::size_t number) {
  return {static_cast<std::uint8_t>(number / 8), static_cast<std::uint8_t>(7 - number % 8)};
}
void add_span(BitSet& bits, const Span& span);

struct Window {  // of a recording: its first and last frame of any message
  std::int64_t from_ns = 0, to_ns = 0;
  [[nodiscard]] double seconds() const { return static_cast<double>(to_ns - from_ns) / 1e9; }
};

struct OneSide {
  const MessageSeries* series = nullptr;  // nothing: the message did not come
  const MessageSurvey* survey = nullptr;
  Window window;
  std::uint64_t fd_frames = 0;
  [[nodiscard]] double second(std::int64_t t_ns) const {
    return static_cast<double>(t_ns - window.from_ns) / 1e9;
  }
};

enum class Older { unknown, a, b };

struct MessagePair {
  std::uint8_t bus = 0;
  CanId id;
  Older older = Older::unknown;  // which recording
  OneSide a, b;

  [[nodiscard]] Difference difference(DifferenceKind kind) const;  // of this message
};

[[nodiscard]] std::vector<MessagePair> pair_up(const Recorded& a, const Recorded& b);

struct Stream {
  std::optional<PagePlace> page;
  std::vector<std::size_t> rows_a, rows_b;
};

// One stream for each page that came in both; without a selector one for all rows.
[[nodiscard]] std::vector<Stream> streams_of(const MessagePair& pair,
                                             const std::optional<Span>& selector);

// The field's raw code in these rows; rows too short for the field are left out.
[[nodiscard]] std::vector<std::uint64_t> codes_of(const MessageSeries& series,
                                                  const std::vector<std::size_t>& rows,
                                                  const Span& span);

}  // namespace foundling::held
