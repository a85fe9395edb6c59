#include "decoder/report/page/bus_timeline.h"

#include <algorithm>

#include "decoder/report/bus_load.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

BusTimeline& timeline_of(std::vector<BusTimeline>& all, std::uint8_t bus, const Grid& grid) {
  const auto found = std::ranges::find(all, bus, &BusTimeline::bus);
  if (found != all.end()) return *found;
  all.push_back({bus, std::vector<BusStretch>(grid.count), false});
  return all.back();
}

}  // namespace

std::vector<BusTimeline> bus_timelines(std::span<const MessageSeries> messages, const Grid& grid) {
  std::vector<BusTimeline> all;
  for (const MessageSeries& message : messages) {
    if (is_payload(message.id)) continue;  // its frames are counted
    BusTimeline& timeline = timeline_of(all, message.bus, grid);
    for (std::size_t i = 0; i < message.size(); ++i) {
      BusStretch& stretch = timeline.stretches[grid.bucket(message.t_ns[i])];
      ++stretch.frames;
      const int length = message.lengths.empty() ? message.length : message.lengths[i];
      if (length > 8) {
        timeline.without_fd = true;
        continue;
      }
      const FrameBits bits = frame_bits(message.id.is_extended(), length);
      stretch.least_bits += static_cast<std::uint64_t>(bits.unstuffed);
      stretch.most_bits += static_cast<std::uint64_t>(bits.worst_case);
    }
  }
  std::ranges::sort(all, {}, &BusTimeline::bus);
  return all;
}

std::vector<std::uint64_t> frame_counts(const MessageSeries& message, const Grid& grid) {
  std::vector<std::uint64_t> counts(grid.count);
  for (const std::int64_t t_ns : message.t_ns) ++counts[grid.bucket(t_ns)];
  return counts;
}

}  // namespace foundling
