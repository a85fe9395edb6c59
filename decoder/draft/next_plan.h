// What a search left open, as the upper half of a bench plan: the channels that moved together, had
// too few levels, or whose fields' top bits never moved, and nothing else. Pure.
#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/bench/plan.h"
#include "schemas/values/reading.h"

namespace foundling {

struct NextPlan {
  bench::Plan plan;                      // to be drawn; without channels where nothing is open
  std::vector<std::string> settles;      // sentences: what the plan will tell
  std::vector<std::string> remains;      // and what no plan within these limits can
  std::vector<std::string> separates;    // channels that were ambiguous and will not be
  std::map<std::string, int> exercises;  // by channel: how many of its untested bits will move
};

// `known`: what can be moved and how far, where it is known; a channel that is not in it stays
// within what it was set to in this session. Of a series that moves in sets, the source is laid
// over sets of those members only that are to be told apart.
[[nodiscard]] NextPlan next_plan(const Correlation& found, std::span<const ChannelSeries> channels,
                                 const bench::Plan& known);

}  // namespace foundling
