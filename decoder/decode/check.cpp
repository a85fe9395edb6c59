#include "decoder/decode/check.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "decoder/decode/check_pairs.h"
#include "decoder/decode/check_verdict.h"
#include "decoder/decode/decode.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

const ChannelSeries* channel_of(std::span<const ChannelSeries> channels, const Field& field) {
  const auto exact = std::ranges::find_if(
      channels, [&field](const ChannelSeries& c) { return c.channel.name == field.name; });
  if (exact != channels.end()) return &*exact;
  const auto near = std::ranges::find_if(
      channels, [&field](const ChannelSeries& c) { return same_name(c.channel.name, field.name); });
  return near == channels.end() ? nullptr : &*near;
}

// A state's word; of a field without words its number, as a channel would have it written down.
std::string word_of(const DecodedValue& value) {
  if (value.kind == ValueKind::state || value.kind == ValueKind::reserved) {
    return std::string(value.word);
  }
  return std::to_string(value.raw);
}

bool says(const ChannelSeries& channel, std::string_view word) {
  return std::ranges::find(channel.readings, word, &Reading::state) != channel.readings.end();
}

// Values in columns, for those fields that have a channel. A reserved code stands for no value, so
// it is none, unless a channel of words has its word.
std::vector<Track> tracks_of(Decoder& decoder, std::span<const MessageSeries> messages,
                             const std::vector<const ChannelSeries*>& channels) {
  std::vector<Track> tracks(channels.size());
  for (const MessageSeries& message : messages) {
    if (is_payload(message.id) || !decoder.knows(message.bus, message.id)) continue;
    for (std::size_t i = 0; i < message.size(); ++i) {
      const std::size_t length = message.lengths.empty() ? message.length : message.lengths[i];
      for (const DecodedValue& value :
           decoder.decode(message.bus, message.id, message.t_ns[i], message.row(i).first(length))) {
        Track& track = tracks[value.field];
        const ChannelSeries& channel = *channels[value.field];
        if (channel.channel.is_state()) {
          if (value.kind == ValueKind::reserved && !says(channel, value.word)) continue;
          track.t_ns.push_back(value.t_ns);
          track.word.push_back(word_of(value));
        } else if (value.kind == ValueKind::number) {
          track.t_ns.push_back(value.t_ns);
          track.number.push_back(value.number);
        }
      }
    }
  }
  return tracks;
}

// The raw value's step in the signal's unit; of a table the steepest piece's.
double step_of(const SignalEntry& entry) {
  if (entry.encoding == Encoding::ieee_float) return 0;
  double step = entry.table.empty() ? std::abs(entry.scale) : 0;
  for (std::size_t i = 1; i < entry.table.size(); ++i) {
    const TablePoint& a = entry.table[i - 1];
    const TablePoint& b = entry.table[i];
    step = std::max(step, std::abs((b.value - a.value) / (b.raw - a.raw)));
  }
  return step;
}

std::size_t words_of(const ChannelSeries& channel) {
  std::set<std::string> words;
  for (const Reading& reading : channel.readings) words.insert(reading.state);
  return words.size();
}

std::string word_at(const ChannelSeries& channel, std::int64_t t_ns) {
  const auto at = std::ranges::find(channel.readings, t_ns, &Reading::t_ns);
  return at == channel.readings.end() ? std::string() : at->state;
}

SignalCheck check_signal(const Field& field, const SignalEntry& entry, const Track& track,
                         const ChannelSeries& channel, const CheckOptions& options) {
  SignalCheck check;
  check.signal = field.name;
  check.channel = channel.channel.name;
  check.unit = channel.channel.unit;
  check.is_state = channel.channel.is_state();
  const bool hold = check.is_state || channel.channel.kind == ChannelKind::hold;
  if (!check.is_state && entry.unit != check.unit) {
    check.tested = false;
    check.reason = "the signal is in '" + entry.unit + "', the channel in '" + check.unit + '\'';
    return check;
  }
  const Pairs pairs = check.is_state ? pair_states(entry, track, channel)
                      : hold         ? pair_plateaus(entry, track, channel)
                                     : pair_samples(entry, track, channel);
  check.samples = pairs.bench.size();
  check.delay_s = pairs.delay_s;
  if (pairs.possible > 0) {
    check.coverage = static_cast<double>(check.samples) / static_cast<double>(pairs.possible);
  }
  judge(check, pairs, hold, step_of(entry), check.is_state ? words_of(channel) : 0, options);
  for (Misfit& misfit : check.misfits) misfit.state = word_at(channel, misfit.t_ns);
  if (track.t_ns.empty()) {
    check.reason = "no frame of the session has a value of it";
    check.tested = false;
  }
  return check;
}

}  // namespace

MapCheck check_map(const SignalMap& map, std::span<const MessageSeries> messages,
                   std::span<const ChannelSeries> channels, const CheckOptions& options) {
  MapCheck result;
  for (const Field& field : fields_of(map)) {
    if (channel_of(channels, field) == nullptr) result.signals_unchecked.push_back(field.name);
  }
  Decoder decoder(
      map, [channels](const Field& field) { return channel_of(channels, field) != nullptr; });
  std::vector<const ChannelSeries*> wanted;
  std::set<std::string> used;
  for (const Field& field : decoder.fields()) {
    wanted.push_back(channel_of(channels, field));
    used.insert(wanted.back()->channel.name);
  }
  const std::vector<Track> tracks = tracks_of(decoder, messages, wanted);
  for (std::size_t i = 0; i < tracks.size(); ++i) {
    const Field& field = decoder.fields()[i];
    result.signals.push_back(
        check_signal(field, decoder.entry(field), tracks[i], *wanted[i], options));
  }
  for (const ChannelSeries& channel : channels) {
    const std::string& name = channel.channel.name;
    if (!used.contains(name)) result.channels_unchecked.push_back(name);
  }
  return result;
}

}  // namespace foundling
