// Which bits of a stream of frames are one number. Within a number a lower bit flips at least about
// as often as a higher one, and a higher one by a carry rarely flips alone.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling::relate {

// How well bytes go on in either direction, added up. Where all cells move together the frames of
// one message often leave both open; all messages of a board mostly agree.
struct OrderVotes {
  double big = 0;
  double little = 0;
  void add(const OrderVotes& other) { big += other.big, little += other.little; }
  [[nodiscard]] ByteOrder preferred() const {
    return little > big ? ByteOrder::little : ByteOrder::big;
  }
};

// `owned`: one a bit, in order of the wire; such bits belong to none.
[[nodiscard]] OrderVotes order_votes(const MessageSeries& message,
                                     std::span<const std::uint32_t> rows,
                                     const std::vector<bool>& owned);

// The other direction than the preferred one has to be clearly better.
[[nodiscard]] std::vector<Span> joined_bits(const MessageSeries& message,
                                            std::span<const std::uint32_t> rows,
                                            const std::vector<bool>& owned, ByteOrder preferred);

// Pages of one message, and neighbouring messages, often have one layout. Of the spans of each,
// such as end where a field rarely ends on the others are joined with the one right beneath them.
// Four pages at least.
void join_as_on_other_pages(std::vector<std::vector<Span>>& pages);

// The bit's index in order of the wire, bit 7 of byte 0 first.
[[nodiscard]] constexpr std::size_t wire_index(BitPosition p) {
  return std::size_t{p.byte} * 8 + (7U - p.bit);
}

}  // namespace foundling::relate
