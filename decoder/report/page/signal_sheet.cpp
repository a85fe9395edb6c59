#include "decoder/report/page/signal_sheet.h"

#include <algorithm>
#include <cmath>

#include "decoder/decode/check_pairs.h"
#include "decoder/decode/decode.h"

namespace foundling {
namespace {

const MessageSeries* message_of(std::span<const MessageSeries> messages,
                                const MessageEntry& entry) {
  const auto found = std::ranges::find_if(
      messages, [&](const MessageSeries& m) { return m.bus == entry.bus && m.id == entry.id; });
  return found == messages.end() ? nullptr : &*found;
}

// Fills the sheet's values and counts; answers the numbers in columns where `keep` says so.
Track read_values(Decoder& decoder, const MessageSeries& message, const Grid& grid, bool keep,
                  SignalSheet& sheet) {
  Track track;
  for (std::size_t i = 0; i < message.size(); ++i) {
    const std::size_t length = message.lengths.empty() ? message.length : message.lengths[i];
    for (const DecodedValue& value :
         decoder.decode(message.bus, message.id, message.t_ns[i], message.row(i).first(length))) {
      ++sheet.frames;
      if (value.kind == ValueKind::reserved) {
        ++sheet.reserved;
        continue;
      }
      const bool numeric = value.kind == ValueKind::number;
      sheet.values.add(grid.bucket(value.t_ns),
                       numeric ? value.number : static_cast<double>(value.raw));
      if (!keep || !numeric) continue;
      track.t_ns.push_back(value.t_ns);
      track.number.push_back(value.number);
    }
  }
  return track;
}

void compare(const SignalEntry& entry, const Track& track, const ChannelSeries& channel,
             SignalSheet& sheet) {
  sheet.channel = channel.channel.name;
  sheet.sampled = channel.channel.kind == ChannelKind::sample;
  const Pairs pairs =
      sheet.sampled ? pair_samples(entry, track, channel) : pair_plateaus(entry, track, channel);
  sheet.delay_s = pairs.delay_s;
  sheet.possible = pairs.possible;
  sheet.compared = pairs.bench.size();
  double squares = 0;
  std::vector<AppliedPoint> points;
  for (std::size_t i = 0; i < pairs.bench.size(); ++i) {
    points.push_back({pairs.bench[i], pairs.signal[i]});
    squares += (pairs.signal[i] - pairs.bench[i]) * (pairs.signal[i] - pairs.bench[i]);
  }
  if (!points.empty()) sheet.rms = std::sqrt(squares / static_cast<double>(points.size()));
  std::ranges::stable_sort(points, {}, &AppliedPoint::applied);
  sheet.points = outermost(points, most_points_drawn);
}

}  // namespace

const ChannelSeries* channel_of(std::span<const ChannelSeries> channels,
                                const std::string& signal) {
  const auto exact = std::ranges::find_if(
      channels, [&](const ChannelSeries& c) { return c.channel.name == signal; });
  if (exact != channels.end()) return &*exact;
  const auto near = std::ranges::find_if(
      channels, [&](const ChannelSeries& c) { return same_name(c.channel.name, signal); });
  return near == channels.end() ? nullptr : &*near;
}

std::vector<AppliedPoint> outermost(const std::vector<AppliedPoint>& points, std::size_t most) {
  if (points.size() <= most || points.empty()) return points;
  const auto [least, greatest] = std::ranges::minmax(points, {}, &AppliedPoint::applied);
  const std::size_t parts = std::max<std::size_t>(most / 2, 1);
  const double width = (greatest.applied - least.applied) / static_cast<double>(parts);
  struct Part {
    const AppliedPoint* low = nullptr;
    const AppliedPoint* high = nullptr;
  };
  std::vector<Part> kept(parts);
  const auto error = [](const AppliedPoint& p) { return p.shown - p.applied; };
  for (const AppliedPoint& p : points) {
    const double at = width > 0 ? (p.applied - least.applied) / width : 0;
    Part& part = kept[std::min(static_cast<std::size_t>(at), parts - 1)];
    if (part.low == nullptr || error(p) < error(*part.low)) part.low = &p;
    if (part.high == nullptr || error(p) > error(*part.high)) part.high = &p;
  }
  std::vector<AppliedPoint> out;
  for (const Part& part : kept) {
    if (part.low == nullptr) continue;
    out.push_back(*part.low);
    if (part.high != part.low) out.push_back(*part.high);
  }
  std::ranges::stable_sort(out, {}, &AppliedPoint::applied);
  return out;
}

SignalSheet sheet_of(const SignalMap& map, const Field& field,
                     std::span<const MessageSeries> messages,
                     std::span<const ChannelSeries> channels, const Grid& grid) {
  SignalSheet sheet{Extremes(grid.count), 0, 0, {}, false, 0, 0, 0, {}, 0};
  const MessageEntry& message = map.messages[field.message];
  const SignalEntry& entry = message.signals[field.entry];
  const MessageSeries* frames = message_of(messages, message);
  if (frames == nullptr) return sheet;
  Decoder decoder(map, [&field](const Field& f) {
    return f.message == field.message && f.entry == field.entry && f.number == field.number;
  });
  const ChannelSeries* channel = channel_of(channels, field.name);
  const bool comparable = channel != nullptr && !channel->channel.is_state() &&
                          entry.states.empty() && channel->channel.unit == entry.unit;
  const Track track = read_values(decoder, *frames, grid, comparable, sheet);
  if (comparable) compare(entry, track, *channel, sheet);
  return sheet;
}

}  // namespace foundling
