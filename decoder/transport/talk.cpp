#include "decoder/transport/talk.h"

#include <algorithm>

#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

// Read again from the frames.
SegmentCounts counts_of(const MessageSeries& frames, Transport transport) {
  SegmentReader reader(transport);
  for (std::size_t i = 0; i < frames.size(); ++i) {
    const std::size_t length = frames.lengths.empty() ? frames.length : frames.lengths[i];
    (void)reader.take(frames.t_ns[i], frames.row(i).first(length));
  }
  return reader.counts();
}

}  // namespace

const SegmentCounts* Talk::carried_by(std::uint8_t bus, CanId id) const {
  const auto at = std::find_if(carried.begin(), carried.end(), [&](const CarriedCounts& one) {
    return one.bus == bus && one.id == id;
  });
  return at == carried.end() ? nullptr : &at->counts;
}

Talk talk_of(std::span<const MessageSeries> messages) {
  Talk talk;
  for (const MessageSeries& payloads : messages) {
    if (!is_payload(payloads.id)) continue;
    for (const MessageSeries& frames : messages) {
      if (frames.bus != payloads.bus || frames.id != frames_of(payloads.id)) continue;
      talk.carried.push_back(
          {payloads.bus, payloads.id, counts_of(frames, transport_of(payloads.id))});
    }
  }
  talk.conversations = conversations(messages);
  return talk;
}

}  // namespace foundling
