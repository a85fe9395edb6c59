// Readings that cannot belong to a session: far outside the time of its frames (a stamp of another
// clock among the others), or a number that no bench has. They stay in the capture, are said, and
// nothing is computed from them: what is computed would have the size of their numbers.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "schemas/values/reading.h"

namespace foundling {

struct FrameTimes {
  std::int64_t first_ns = 0, last_ns = 0;
};

// One sentence for each channel that has some.
[[nodiscard]] std::vector<std::string> describe_far_readings(
    const std::vector<ChannelSeries>& channels, const FrameTimes& frames);

// Takes them out, and channels that have no other; the same sentences.
[[nodiscard]] std::vector<std::string> leave_out_far_readings(std::vector<ChannelSeries>& channels,
                                                              const FrameTimes& frames);

}  // namespace foundling
