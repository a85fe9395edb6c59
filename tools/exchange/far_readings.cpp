#include "tools/exchange/far_readings.h"

#include <algorithm>
#include <cmath>

#include "tools/exchange/decimal_seconds.h"
#include "tools/exchange/number_text.h"

namespace foundling {
namespace {

// Stimuli are set before the recorder starts and noted after it stopped, by no more than an hour
// (common practice, no source) and the session's own length.
constexpr std::int64_t grace_ns = 3'600'000'000'000;
// The farthest limit that a bench plan may have: a teraohm of insulation, and nothing beyond.
constexpr double farthest_value = 1e12;

// How far t lies beyond the end of the frames that is nearer; saturating.
std::int64_t beyond(std::int64_t t_ns, const FrameTimes& frames) {
  std::int64_t distance = 0;
  const bool early = t_ns < frames.first_ns;
  const bool overflow = early ? __builtin_sub_overflow(frames.first_ns, t_ns, &distance)
                              : __builtin_sub_overflow(t_ns, frames.last_ns, &distance);
  return overflow ? INT64_MAX : distance;
}

bool is_far_in_time(const Reading& reading, const FrameTimes& frames) {
  std::int64_t allowed = 0;
  if (__builtin_sub_overflow(frames.last_ns, frames.first_ns, &allowed) ||
      __builtin_add_overflow(allowed, grace_ns, &allowed)) {
    return false;
  }
  return beyond(reading.t_ns, frames) > allowed;
}

bool is_beyond_numbers(const ChannelSeries& series, const Reading& reading) {
  return !series.channel.is_state() && !(std::abs(reading.value) <= farthest_value);
}

bool is_far(const ChannelSeries& series, const Reading& reading, const FrameTimes& frames) {
  return is_far_in_time(reading, frames) || is_beyond_numbers(series, reading);
}

std::string sentence(const ChannelSeries& series, const Reading& first, std::size_t count,
                     const FrameTimes& frames) {
  std::string time;
  append_seconds(time, first.t_ns);
  const std::string what =
      is_far_in_time(first, frames)
          ? "far outside the time of the frames: at " + time + " s"
          : "beyond 1e12: " + shortest_number(first.value) + " at " + time + " s";
  return "channel " + series.channel.name + ": " + std::to_string(count) +
         (count == 1 ? " reading is " : " readings are ") + what +
         (count == 1 ? "" : " the first") + "; nothing is computed from " +
         (count == 1 ? "it" : "them");
}

}  // namespace

std::vector<std::string> describe_far_readings(const std::vector<ChannelSeries>& channels,
                                               const FrameTimes& frames) {
  std::vector<std::string> said;
  for (const ChannelSeries& series : channels) {
    const auto far = [&](const Reading& reading) { return is_far(series, reading, frames); };
    const auto first = std::ranges::find_if(series.readings, far);
    if (first == series.readings.end()) continue;
    const auto count = static_cast<std::size_t>(std::ranges::count_if(series.readings, far));
    said.push_back(sentence(series, *first, count, frames));
  }
  return said;
}

std::vector<std::string> leave_out_far_readings(std::vector<ChannelSeries>& channels,
                                                const FrameTimes& frames) {
  std::vector<std::string> said = describe_far_readings(channels, frames);
  if (said.empty()) return said;
  std::erase_if(channels, [&](ChannelSeries& series) {
    const auto taken = std::erase_if(
        series.readings, [&](const Reading& reading) { return is_far(series, reading, frames); });
    return taken > 0 && series.readings.empty();
  });
  return said;
}

}  // namespace foundling
