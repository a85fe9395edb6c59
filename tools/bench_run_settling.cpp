#include "tools/bench_run_settling.h"

#include <algorithm>
#include <cmath>

namespace foundling {

bool is_still(std::span<const LiveValue> values, std::int64_t from_ns, std::int64_t now_ns,
              std::int64_t window_ns, double tolerance) {
  const std::int64_t start = now_ns - window_ns;
  if (from_ns > start) return false;
  double least = 0, most = 0;
  int count = 0;
  for (const LiveValue& one : values) {
    if (one.t_ns < start) continue;
    least = count == 0 ? one.value : std::min(least, one.value);
    most = count == 0 ? one.value : std::max(most, one.value);
    ++count;
  }
  return count >= 3 && most - least <= tolerance;
}

Result<std::unique_ptr<LiveChannels>> LiveChannels::open(const std::string& capture,
                                                         const SignalMap& map,
                                                         const std::vector<std::string>& channels) {
  auto follower = CaptureFollower::open(capture, CaptureFollower::Start::with_what_comes);
  if (!follower) return follower.error();
  const auto wanted = [&channels](const Field& field) {
    return std::any_of(channels.begin(), channels.end(),
                       [&](const std::string& name) { return same_name(name, field.name); });
  };
  std::unique_ptr<LiveChannels> live(
      new LiveChannels(std::move(follower).value(), Decoder(map, wanted)));
  const auto fields = live->decoder_.fields();
  for (std::uint32_t i = 0; i < fields.size(); ++i) {
    for (const std::string& name : channels) {
      if (same_name(name, fields[i].name)) live->fields_.emplace(name, i);
    }
  }
  return live;
}

bool LiveChannels::knows(const std::string& channel) const {
  return fields_.find(channel) != fields_.end();
}

void LiveChannels::begin() {
  (void)follow();
  values_.clear();
  from_ns_ = follower_.now_ns().value_or(0);
}

Result<void> LiveChannels::follow() {
  for (;;) {
    const auto frames = follower_.next();
    if (!frames) return frames.error();
    if (frames->empty()) return {};
    for (const Frame& frame : *frames) {
      for (const DecodedValue& value : decoder_.decode(frame)) {
        if (value.kind == ValueKind::reserved) continue;
        const bool number = value.kind == ValueKind::number;
        values_[value.field].push_back(
            {value.t_ns, number ? value.number : static_cast<double>(value.raw)});
      }
    }
  }
}

bool LiveChannels::is_settled(const std::string& channel, std::int64_t window_ns,
                              double least) const {
  const auto field = fields_.find(channel);
  const auto now = follower_.now_ns();
  if (field == fields_.end() || !now) return false;
  const auto values = values_.find(field->second);
  if (values == values_.end()) return false;
  const double step = std::fabs(decoder_.entry(decoder_.fields()[field->second]).scale);
  return is_still(values->second, from_ns_, *now, window_ns, std::max(least, 2.5 * step));
}

}  // namespace foundling
