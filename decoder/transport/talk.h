// What goes on in segments on a bus: how many payloads came whole and how many did not, and who
// asks whom. Pure.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/transport/conversation.h"
#include "decoder/transport/segment_reader.h"
#include "schemas/values/frame.h"

namespace foundling {

struct CarriedCounts {
  std::uint8_t bus = 0;
  CanId id;  // of the payloads
  SegmentCounts counts;
};

struct Talk {
  std::vector<CarriedCounts> carried = {};
  std::vector<Conversation> conversations = {};

  [[nodiscard]] const SegmentCounts* carried_by(std::uint8_t bus, CanId id) const;  // or null
};

// Of messages that have their payloads beside them (payloads.h).
[[nodiscard]] Talk talk_of(std::span<const MessageSeries> messages);

}  // namespace foundling
