// How look-alike fields are laid out: member n of a series is on page (n - first) div k, or in the
// message of that number, and there (n - first) mod k fields of a constant stride further on.
// Finds every such layout in which all tested members are where they are.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/analysis/stream.h"

namespace foundling {

struct TestedMember {
  std::int64_t number = 0;
  const Proposal* proposal = nullptr;
};

// Streams that can hold members, by place in a row: pages by value, or messages by identifier.
struct Shelf {
  std::int64_t step = 1;                            // between neighbours
  std::int64_t base = 0;                            // page value or identifier of the first
  std::vector<std::optional<std::size_t>> streams;  // nothing: no such page or message was seen
};

struct SeriesLayout {
  Shelf shelf;
  std::int64_t first_number = 0;  // of the member that would be at slot 0 of the shelf's first
  int a_stream = 1;               // slots on one page or in one message
  int first_bit = 0;              // of slot 0, along the line of `order`
  int stride = 0;                 // bits from slot to slot
  int width = 0;
  ByteOrder order = ByteOrder::big;

  struct Place {
    std::size_t stream = 0;
    Span span;
  };
  // Nothing where the shelf has no stream or the stream has no such bits.
  [[nodiscard]] std::optional<Place> at(std::int64_t number, std::span<const Stream> streams) const;
};

// Requires members that agree in bus, coding and byte order. Strides and slot counts that the
// members leave open are all returned: the caller sees which hold up.
[[nodiscard]] std::vector<SeriesLayout> possible_layouts(std::span<const TestedMember> members,
                                                         std::span<const Stream> streams);

// Where no such layout holds, members between two tested ones of the same stream, evenly spaced:
// only where that spacing, in bits, occurs between tested neighbours too.
struct Neighbourly {
  std::map<std::int64_t, SeriesLayout::Place> places;
  int stride = 0;
};
[[nodiscard]] Neighbourly between_neighbours(std::span<const TestedMember> members,
                                             std::span<const Stream> streams);

}  // namespace foundling
