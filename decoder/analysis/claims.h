// Who gets which field: every channel's candidates are weighed against those of the others, and
// channels that moved together are named, since nobody can tell their fields apart.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "decoder/analysis/channel_search.h"

namespace foundling {

struct Claim {
  const ChannelSeries* channel = nullptr;
  bool derived = false;
  ChannelSearch search;
  std::optional<std::size_t> chosen;        // index of the candidate that the channel gets
  std::vector<std::string> ambiguous_with;  // channels that explain the chosen field as well
  double chance = 1;
  bool chance_by_plan = false;
  std::size_t left_out = 0;  // readings that the cleaning took away
  bool retimed = false;      // its readings were moved to where the board changed
};

// A candidate good enough to be put forward at all: tight for what its resolution and noise allow.
[[nodiscard]] bool follows(const Candidate& candidate, ChannelKind kind);

// Fills in `ambiguous_with` of each claim's best candidate, then `chosen`: the best candidate of
// each channel that no better-fitting channel has. `taken` are fields of state channels.
void settle_claims(std::span<const Stream> streams, std::vector<Claim>& claims,
                   std::span<const FieldPlace> taken);

// Whether another channel had followed these rows so closely that nobody can tell the two apart.
[[nodiscard]] bool moved_together(const RowSet& rows, const ChannelSeries& other);

// Whether two fields share bits of one message on a common page.
[[nodiscard]] bool share_bits(const FieldPlace& a, const FieldPlace& b);

}  // namespace foundling
