// Stretches in which a total rests. A total rests only while everything in it does, so these do for
// all of its members at once, whatever else is on the bus; and means over a stretch of seconds care
// little for the parts of a second by which a member is ahead of its total.
#pragma once

#include <cstdint>
#include <vector>

#include "decoder/relate/tracks.h"

namespace foundling::relate {

struct Rest {
  std::uint32_t from = 0;  // windows, the last one not in it
  std::uint32_t to = 0;
  friend bool operator==(const Rest&, const Rest&) = default;
};

// `error`: of one window's mean, codes. What is never at rest is cut evenly.
[[nodiscard]] std::vector<Rest> rests_of(const Track& track, double error);

// The mean in each rest; not a number where there is none.
[[nodiscard]] std::vector<double> means_in(const Track& track, const std::vector<Rest>& rests);

}  // namespace foundling::relate
