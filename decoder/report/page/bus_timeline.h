// How busy each bus was, stretch by stretch. Classical frames' time as in bus_load.h; frames longer
// than 8 bytes are counted as frames, but their time is not.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/report/page/extremes.h"
#include "schemas/values/frame.h"

namespace foundling {

struct BusStretch {
  std::uint64_t frames = 0;
  std::uint64_t least_bits = 0;  // without stuff bits
  std::uint64_t most_bits = 0;   // with as many as there can be
};

struct BusTimeline {
  std::uint8_t bus = 0;
  std::vector<BusStretch> stretches;  // one a bucket of the grid
  bool without_fd = false;            // frames longer than 8 bytes were not timed
};

[[nodiscard]] std::vector<BusTimeline> bus_timelines(std::span<const MessageSeries> messages,
                                                     const Grid& grid);

// Frames of one message in each bucket.
[[nodiscard]] std::vector<std::uint64_t> frame_counts(const MessageSeries& message,
                                                      const Grid& grid);

}  // namespace foundling
