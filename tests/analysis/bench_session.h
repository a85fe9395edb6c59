// A small bench session made up for the properties of `correlate`: three quantities, a switch and a
// sampled voltage on two messages, all invented, all seeded. The truth is planted, so that what
// changes in the answer can be held against what was changed in the session.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "decoder/analysis/correlate.h"

namespace foundling::test {

struct BenchSession {
  std::vector<MessageSeries> messages;
  std::vector<ChannelSeries> channels;
};

// 1A4: pack_current 0.1 A signed big-endian 0.7..1.0, cell_01 1 mV little-endian 3.7..2.0, a slow
// drift in byte 4, key_switch in 5.3, a counter 7.3..7.0. 18FEF700: temp_1 1 °C, -40 °C, in byte 1;
// supply 10 mV big-endian 2.7..3.0, of which there are samples; byte 5 random.
BenchSession make_session(std::uint64_t seed);

Correlation answer(const BenchSession& session);

// The rank-1 proposal of a channel that is not derived; none: nullptr.
const Proposal* first(const Correlation& c, std::string_view channel);

// A message of random bytes, sent over the same time.
MessageSeries noise_message(CanId id, std::uint8_t bus, const BenchSession& session,
                            std::uint64_t seed);

// The same payloads with the bytes of every frame in reverse order, and where a span is then.
MessageSeries mirrored(const MessageSeries& message);
Span mirrored(const Span& span, int length);

}  // namespace foundling::test
