// A session as its frames bear it out: every channel cleaned by the field that is most likely its
// own, and the frames that stand for no value left out. The search for signals then runs on what is
// left, so that it needs to know nothing of slips, substitutes and late stamps.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "decoder/analysis/cleaned_channel.h"
#include "decoder/analysis/stream.h"

namespace foundling {

struct ObservedSession {
  std::vector<ChannelSeries> channels;           // as those given, in their order
  std::vector<ChannelSeries> repaired;           // likewise: for what follows from several channels
  std::vector<CleanedChannel> cleaned;           // likewise
  std::vector<std::optional<RoughField>> rough;  // likewise: where each channel was seen
  std::vector<LeftOut> left_out;                 // by message
  std::vector<Stream> streams;                   // without those frames
};

[[nodiscard]] ObservedSession observe_session(std::span<const MessageSeries> messages,
                                              std::span<const ChannelSeries> channels,
                                              const Survey& survey, std::int64_t end_ns);

}  // namespace foundling
