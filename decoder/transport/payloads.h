// Which messages carry segmented payloads, and these payloads as messages of their own: a row a
// payload, at the time of its last frame, with an identifier that says how it was carried. Nobody
// says in advance which identifiers do: their frames are of the standard's forms nearly all the
// time, and a payload of several frames is there whole, or single frames are requests and answers
// that fit each other. Pure.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "decoder/transport/segment_reader.h"
#include "schemas/values/frame.h"

namespace foundling {

struct CarriedPayloads {
  MessageSeries series;  // its identifier says how
  SegmentCounts counts;
};

// By bus, identifier and address. `messages` may hold payloads already; these are passed over.
[[nodiscard]] std::vector<CarriedPayloads> carried_payloads(
    std::span<const MessageSeries> messages);

// Whether its frames carry payloads in several segments, by themselves.
[[nodiscard]] bool carries_segments(const MessageSeries& message);

// The messages and the payloads that they carry, each behind its frames.
[[nodiscard]] std::vector<MessageSeries> with_payloads(std::vector<MessageSeries> messages);

}  // namespace foundling
