// Answers for the channels that no straight line explains: fields that follow them along a curve,
// put forward with a table.
#pragma once

#include <span>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/analysis/stream.h"
#include "schemas/values/reading.h"

namespace foundling {

// For numeric channels without a proposal, among bits that no proposal has. `streams` by value:
// their bits are marked as owned on the way.
[[nodiscard]] std::vector<Proposal> answer_curves(std::span<const MessageSeries> messages,
                                                  std::vector<Stream> streams,
                                                  std::span<const ChannelSeries> channels,
                                                  std::span<const Proposal> proposals,
                                                  std::int64_t end_ns, std::uint64_t seed);

}  // namespace foundling
