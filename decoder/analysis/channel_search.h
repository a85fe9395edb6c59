// All fields that answer to one numeric channel, best first, each with its line and its lag.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "decoder/analysis/candidate.h"

namespace foundling {

struct ChannelSearch {
  RowSet rows;                        // as finally used, settling left out
  std::int64_t delay_ns = 0;          // at which the rows were read
  std::vector<Candidate> candidates;  // best first, none overlapping on one stream
};

[[nodiscard]] ChannelSearch search_channel(std::span<const Stream> streams,
                                           const ChannelSeries& channel, std::int64_t end_ns);

// The same field without bits that turned out to be another's; none where nothing is left of it.
[[nodiscard]] std::optional<Candidate> without_bits(std::span<const Stream> streams,
                                                    const ChannelSeries& channel,
                                                    const Candidate& candidate, const Span& taken,
                                                    std::int64_t end_ns);

// The chance that the best field of all streams would look this good by accident: the channel's
// levels are permuted among its plateaus, and the whole search is run again, over all its delays
// and without as many plateaus as the real one left out; p = (1 + better) / (1 + draws). A sampled
// channel's readings are permuted in blocks, which is weaker.
[[nodiscard]] double chance_of(std::span<const Stream> streams, const ChannelSearch& found,
                               double r2, std::uint64_t seed, std::size_t left_out = 0,
                               int draws = 199);

}  // namespace foundling
