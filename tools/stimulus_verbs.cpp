#include "tools/stimulus_verbs.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <iostream>
#include <nlohmann/json.hpp>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/capture/recording_lock.h"
#include "schemas/capture/session_clock.h"
#include "schemas/values/nearest_word.h"
#include "tools/exchange/decimal_seconds.h"
#include "tools/exchange/number_text.h"
#include "tools/exchange/stimulus_csv.h"
#include "tools/exchange/stimulus_entry.h"

namespace foundling {
namespace {

using Words = std::vector<std::string>;

// A recorder's transaction is short; longer than this, something is stuck.
constexpr std::chrono::seconds patience{10};

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

Result<SessionRow> session_of(CaptureReader& reader, const StimulusOrder& order) {
  if (order.session) return reader.session(order.session);
  auto all = reader.sessions();
  if (!all) return all.error();
  // The last one, frames or not: the bus may be silent yet.
  if (!all->empty()) return all->back();
  return Error{ErrorCode::not_found, order.capture.string() + ": no session in this capture"};
}

Result<std::int64_t> seconds_of(const std::string& text, const char* option) {
  const auto seconds = parse_seconds(text);
  if (!seconds) {
    return usage(std::string(option) + ": expected seconds like 12.5, found \"" + text + '"');
  }
  return seconds->ns;
}

Result<std::int64_t> time_of(const SessionRow& session, const StimulusOrder& order) {
  if (order.at) return seconds_of(*order.at, "--at");
  const std::string hint = "; say when with --at SECONDS";
  const auto now = session_now_ns(session);
  if (!now) return usage(order.capture.string() + ": " + now.error().message + hint);
  if (!RecordingLock::is_held(order.capture)) {
    return usage(order.capture.string() + ": nobody is recording into this capture now" + hint);
  }
  return *now;
}

// "12.5" "A" belong together: VALUE [UNIT].
Result<TypedReading> typed_reading(const std::string& channel, const Words& words,
                                   const StimulusOrder& order) {
  if (words.empty() || words.size() > 2) return usage("expected a value and perhaps its unit");
  TypedReading typed{channel, words[0], {}, order.uncertainty, order.kind};
  if (words.size() == 2) typed.unit = words[1];
  return typed;
}

std::string shown(const Channel& channel, const Reading& reading) {
  if (channel.is_state()) return reading.state;
  std::string text = shortest_number(reading.value) + ' ' + channel.unit;
  if (!std::isnan(reading.uncertainty)) text += " ± " + shortest_number(reading.uncertainty);
  return text;
}

void tell(const StimulusEntry& entry, std::int64_t number, const SessionRow& session) {
  for (const std::string& remark : entry.remarks) std::cerr << "note: " << remark << '\n';
  std::string time;
  append_seconds(time, entry.reading.t_ns);
  std::cerr << "reading " << number << ": " << entry.channel.name << " = "
            << shown(entry.channel, entry.reading) << " at " << time << " s of session "
            << session.id << '\n';
}

Result<void> set(const Words& words, const StimulusOrder& order) {
  if (words.size() < 2) return usage("set: expected CHANNEL VALUE [UNIT]");
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto session = session_of(*reader, order);
  if (!session) return session.error();
  // Taken first: what follows may have to wait for the recorder.
  const auto now = time_of(*session, order);
  if (!now) return now.error();
  const auto channels = reader->channels();
  if (!channels) return channels.error();
  std::optional<Channel> known;
  for (const Channel& channel : *channels) {
    if (channel.name == words[0]) known = channel;
  }
  const auto typed = typed_reading(words[0], Words(words.begin() + 1, words.end()), order);
  if (!typed) return typed.error();
  auto entry = stimulus_entry(*typed, known);
  if (!entry) return entry.error();
  entry->reading.t_ns = *now;
  auto writer = CaptureWriter::open(order.capture, patience);
  if (!writer) return writer.error();
  const auto channel = writer->ensure_channel(entry->channel);
  if (!channel) return channel.error();
  const auto number = writer->add_reading(session->id, *channel, entry->reading);
  if (!number) return number.error();
  tell(*entry, *number, *session);
  return writer->close();
}

Result<StoredReading> stored_reading(CaptureReader& reader, const SessionRow& session,
                                     const std::string& number) {
  auto all = reader.readings(session.id);
  if (!all) return all.error();
  for (const StoredReading& stored : *all) {
    if (std::to_string(stored.id) == number) return stored;
  }
  return Error{ErrorCode::not_found, "session " + std::to_string(session.id) + " has no reading " +
                                         number + "; `list` shows their numbers"};
}

Result<void> correct(const Words& words, const StimulusOrder& order) {
  if (words.empty() || (words.size() == 1) != order.withdraw) {
    return usage("correct: expected NUMBER VALUE [UNIT], or NUMBER --withdraw");
  }
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto session = session_of(*reader, order);
  if (!session) return session.error();
  const auto old = stored_reading(*reader, *session, words[0]);
  if (!old) return old.error();
  auto writer = CaptureWriter::open(order.capture, patience);
  if (!writer) return writer.error();
  if (order.withdraw) {
    if (auto done = writer->withdraw(old->id); !done) return done;
    std::cerr << "reading " << old->id << " of " << old->channel.name << " withdrawn\n";
    return writer->close();
  }
  const auto typed = typed_reading(old->channel.name, Words(words.begin() + 1, words.end()), order);
  if (!typed) return typed.error();
  auto entry = stimulus_entry(*typed, old->channel);
  if (!entry) return entry.error();
  entry->reading.t_ns = old->reading.t_ns;
  if (!typed->uncertainty) entry->reading.uncertainty = old->reading.uncertainty;
  if (order.at) {
    const auto at = seconds_of(*order.at, "--at");
    if (!at) return at.error();
    entry->reading.t_ns = *at;
  }
  const auto number = writer->supersede(old->id, entry->reading);
  if (!number) return number.error();
  tell(*entry, *number, *session);
  return writer->close();
}

nlohmann::json to_json(const StoredReading& stored) {
  const bool is_state = stored.channel.is_state();
  const Reading& reading = stored.reading;
  return {{"number", stored.id},
          {"t_ns", reading.t_ns},
          {"channel", stored.channel.name},
          {"unit", stored.channel.unit},
          {"kind", stored.channel.kind == ChannelKind::hold ? "hold" : "sample"},
          {"value", is_state ? nlohmann::json(reading.state) : nlohmann::json(reading.value)},
          {"uncertainty", std::isnan(reading.uncertainty) ? nlohmann::json(nullptr)
                                                          : nlohmann::json(reading.uncertainty)},
          {"superseded_by", stored.superseded_by == 0 ? nlohmann::json(nullptr)
                                                      : nlohmann::json(stored.superseded_by)}};
}

void print_line(const StoredReading& stored) {
  std::string time;
  append_seconds(time, stored.reading.t_ns);
  std::printf("%6lld %20s s  %-24s %s%s\n", static_cast<long long>(stored.id), time.c_str(),
              stored.channel.name.c_str(), shown(stored.channel, stored.reading).c_str(),
              stored.superseded_by == 0           ? ""
              : stored.superseded_by == stored.id ? "  (withdrawn)"
                                                  : "  (superseded)");
}

Result<void> list(const Words& words, const StimulusOrder& order) {
  if (!words.empty()) return usage("list: expected nothing more, found \"" + words[0] + '"');
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto session = session_of(*reader, order);
  if (!session) return session.error();
  auto all = reader->readings(session->id);
  if (!all) return all.error();
  std::stable_sort(all->begin(), all->end(), [](const StoredReading& a, const StoredReading& b) {
    return a.reading.t_ns < b.reading.t_ns;
  });
  nlohmann::json readings = nlohmann::json::array();
  for (const StoredReading& stored : *all) {
    if (stored.superseded_by != 0 && !order.all) continue;
    if (order.json) {
      readings.push_back(to_json(stored));
    } else {
      print_line(stored);
    }
  }
  if (!order.json) return {};
  const nlohmann::json result = {{"format", "foundling-readings"},
                                 {"version", 1},
                                 {"session", session->id},
                                 {"readings", readings}};
  std::cout << result.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
  return {};
}

Result<void> add_all(CaptureWriter& writer, std::int64_t session, const StimulusFile& file,
                     std::int64_t shift_ns) {
  if (auto begun = writer.begin(); !begun) return begun;
  for (const ChannelSeries& series : file.channels) {
    const auto channel = writer.ensure_channel(series.channel);
    if (!channel) return channel.error();
    std::vector<Reading> readings = series.readings;
    for (Reading& reading : readings) reading.t_ns += shift_ns;
    if (auto added = writer.add_readings(session, *channel, readings); !added) return added;
  }
  return writer.commit();
}

Result<void> import(const Words& words, const StimulusOrder& order) {
  if (words.size() != 1) return usage("import: expected one CSV file");
  std::int64_t shift_ns = 0;
  if (order.offset) {
    const auto offset = seconds_of(*order.offset, "--offset");
    if (!offset) return offset.error();
    shift_ns = *offset;
  }
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto session = session_of(*reader, order);
  if (!session) return session.error();
  const auto channels = reader->channels();
  if (!channels) return channels.error();
  const auto file = read_stimulus_csv(words[0], *channels);
  if (!file) return file.error();
  auto writer = CaptureWriter::open(order.capture, patience);
  if (!writer) return writer.error();
  auto added = add_all(*writer, session->id, *file, shift_ns - session->info.origin_ns);
  if (!added) return added;
  std::size_t count = 0;
  for (const ChannelSeries& series : file->channels) count += series.readings.size();
  for (const std::string& remark : file->remarks) std::cerr << "note: " << remark << '\n';
  std::cerr << count << " readings of " << file->channels.size() << " channels into session "
            << session->id << '\n';
  return writer->close();
}

struct Verb {
  const char* name;
  Result<void> (*run)(const Words&, const StimulusOrder&);
};

constexpr std::array<Verb, 4> verbs{
    {{"set", set}, {"list", list}, {"import", import}, {"correct", correct}}};

}  // namespace

bool is_stimulus_verb(std::string_view word) {
  return std::any_of(verbs.begin(), verbs.end(), [&](const Verb& v) { return word == v.name; });
}

Result<void> run_stimulus_verb(const std::string& verb, const Words& words,
                               const StimulusOrder& order) {
  Words known;
  for (const Verb& candidate : verbs) {
    if (verb == candidate.name) return candidate.run(words, order);
    known.emplace_back(candidate.name);
  }
  const auto near = nearest_word(verb, known);
  return usage("unknown verb '" + verb + "'; " +
               (near ? "did you mean '" + *near + "'?" : "expected set, list, import or correct"));
}

}  // namespace foundling
