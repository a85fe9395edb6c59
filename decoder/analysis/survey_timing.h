// When the frames of a message come: period, jitter, and whether they come by the clock or on an
// event. Robust: lost frames and a few late ones change nothing.
#pragma once

#include <cstdint>
#include <span>

namespace foundling {

struct Timing {
  double period_s = 0;       // median time between frames; 0 with fewer than two
  double mean_period_s = 0;  // first to last frame, by the steps between
  double jitter_s = 0;       // 1.4826 times the median deviation from the median time
  bool in_bursts = false;    // by the clock, several at once: the median is the time within a burst
  bool event_driven = false;  // some or all frames come outside any period
};

[[nodiscard]] Timing survey_timing(std::span<const std::int64_t> t_ns);

}  // namespace foundling
