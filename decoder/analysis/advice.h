// What the bench should do next, in sentences that a battery person understands.
#pragma once

#include <string>
#include <vector>

#include "decoder/analysis/claims.h"
#include "decoder/analysis/state_search.h"

namespace foundling {

inline constexpr int levels_needed = 5;   // of a numeric channel, for a straight line to be judged
inline constexpr int changes_needed = 8;  // of a switch: 2^-8, words at random match one bit less

[[nodiscard]] std::string advise_levels(const ChannelSeries& channel, int levels);
[[nodiscard]] std::string advise_words(const ChannelSeries& channel, const StateSearch& search);
// One sentence a set of channels that moved together; what settles the most channels comes first.
[[nodiscard]] std::vector<std::string> advise_separation(const std::vector<Claim>& claims);
// One sentence for the fields whose top bits never moved; none if there are none.
[[nodiscard]] std::vector<std::string> advise_range(const std::vector<Proposal>& proposals);

}  // namespace foundling
