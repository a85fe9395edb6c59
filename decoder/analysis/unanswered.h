// A word for every measured channel that has no strong answer: why, which field came closest, and
// what to do about it.
#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

#include "decoder/analysis/observed_session.h"
#include "decoder/analysis/proposal.h"

namespace foundling {

// The bits that came closest to a switch, by the channel's name.
using NearestBits = std::map<std::string, Unanswered::Nearest>;

[[nodiscard]] std::vector<Unanswered> unanswered(std::span<const ChannelSeries> channels,
                                                 const ObservedSession& observed,
                                                 std::span<const Proposal> proposals,
                                                 const NearestBits& nearest_bits);

// Readings that the field of their channel contradicts, by time; of channels with an answer only.
[[nodiscard]] std::vector<UnfitReading> unfit_readings(std::span<const ChannelSeries> channels,
                                                       const ObservedSession& observed,
                                                       std::span<const Proposal> proposals);

}  // namespace foundling
