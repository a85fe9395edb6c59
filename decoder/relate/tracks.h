// All fields on one grid of time: a mean code for each window, so that fields of messages that are
// sent at different times can be compared. A field keeps its last code for three of its usual
// silences, until its next frame even where it is sent when something changes; after that, and
// where it says nothing, there is no number.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/relate/fields.h"

namespace foundling::relate {

using Track = std::vector<double>;

struct Grid {
  std::int64_t start_ns = 0;
  double window_s = 0.5;
  std::size_t windows = 0;
};

// Windows of half a second, longer ones for long sessions: 6,000 at most.
[[nodiscard]] Grid grid_of(std::span<const MessageSeries> messages);

[[nodiscard]] Track track_of(const MessageSeries& message, const Field& field, const Grid& grid);

// The code that was sent last in each window, for what stands for a state or a number of something.
[[nodiscard]] Track last_codes(const MessageSeries& message, const Field& field, const Grid& grid);

}  // namespace foundling::relate
