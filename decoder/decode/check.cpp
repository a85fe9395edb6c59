#include "decoder/decode/check.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "decoder/decode/check_pairs.h"
#include "decoder/decode/decode.h"

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

// Values in columns, for those fields that have a channel.
std::vector<Track> tracks_of(Decoder& decoder, std::span<const MessageSeries> messages,
                             const std::vector<const ChannelSeries*>& channels) {
  std::vector<Track> tracks(channels.size());
  for (const MessageSeries& message : messages) {
    if (!decoder.knows(message.bus, message.id)) continue;
    for (std::size_t i = 0; i < message.size(); ++i) {
      const std::size_t length = message.lengths.empty() ? message.length : message.lengths[i];
      for (const DecodedValue& value :
           decoder.decode(message.bus, message.id, message.t_ns[i], message.row(i).first(length))) {
        Track& track = tracks[value.field];
        if (channels[value.field]->channel.is_state()) {
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

void add_errors(SignalCheck& check, const Pairs& pairs) {
  double sum = 0;
  double squares = 0;
  for (std::size_t i = 0; i < pairs.bench.size(); ++i) {
    const double error = pairs.signal[i] - pairs.bench[i];
    sum += error;
    squares += error * error;
    if (std::abs(error) > std::abs(check.largest)) check.largest = error;
  }
  const auto n = static_cast<double>(pairs.bench.size());
  check.bias = sum / n;
  check.rms = std::sqrt(squares / n);
  check.gain = check.is_state ? 1 : slope(pairs.bench, pairs.signal);
  check.largest = std::abs(check.largest);
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

double tolerance_of(const SignalCheck& check, const SignalEntry& entry, const Pairs& pairs,
                    const CheckOptions& options) {
  if (options.absolute) {
    if (const auto set = options.absolute(check.signal)) return *set;
  }
  if (check.is_state) return 0;
  double reading = 0;
  for (const double value : pairs.bench) reading = std::max(reading, std::abs(value));
  double uncertainty = 0;
  for (const double value : pairs.uncertainty) uncertainty = std::max(uncertainty, value);
  return options.gain * reading + options.steps * step_of(entry) + options.coverage * uncertainty;
}

std::string few(std::size_t samples, const char* what, std::size_t fewest) {
  return std::to_string(samples) + ' ' + what + "; at least " + std::to_string(fewest) + " needed";
}

// Passed only with enough samples, of two levels or more, all within the tolerance.
void judge(SignalCheck& check, const Pairs& pairs, bool hold, std::size_t words,
           const CheckOptions& options) {
  const std::set<double> levels(pairs.bench.begin(), pairs.bench.end());
  const std::size_t count = check.is_state ? words : levels.size();
  if (check.samples < options.fewest) {
    check.reason = few(check.samples, hold ? "plateaus" : "readings", options.fewest);
  } else if (count < 2) {
    check.reason = check.is_state ? "the channel had one state; at least 2 needed"
                                  : "the channel had one level; at least 2 needed";
  } else if (!(check.largest <= check.tolerance)) {
    check.reason =
        check.is_state ? "a state was wrong" : "the largest error is beyond the tolerance";
  } else {
    check.pass = true;
  }
}

std::size_t words_of(const ChannelSeries& channel) {
  std::set<std::string> words;
  for (const Reading& reading : channel.readings) words.insert(reading.state);
  return words.size();
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
  check.tolerance = tolerance_of(check, entry, pairs, options);
  if (check.samples > 0) add_errors(check, pairs);
  judge(check, pairs, hold, words_of(channel), options);
  if (track.t_ns.empty()) check.reason = "no frame of the session has a value of it";
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
