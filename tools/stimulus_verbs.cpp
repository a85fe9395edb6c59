#include "tools/stimulus_verbs.h"

#include <algorithm>
#include <array>
#include <iostream>
#include <set>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/values/nearest_word.h"
#include "tools/exchange/decimal_seconds.h"
#include "tools/exchange/stimulus_csv.h"
#include "tools/exchange/stimulus_entry.h"
#include "tools/one_transaction.h"
#include "tools/stimulus_doubts.h"
#include "tools/stimulus_list.h"
#include "tools/stimulus_marks.h"
#include "tools/stimulus_session.h"

namespace foundling {
namespace {

using Words = std::vector<std::string>;

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

Result<void> check_time(const SessionRow& session, const StimulusOrder& order, std::int64_t at,
                        ChannelKind kind) {
  const std::string fault = session_times(session, order.capture).fault_of(at, kind);
  if (fault.empty()) return {};
  return usage("--at: " + fault);
}

Result<std::int64_t> time_of(const SessionRow& session, const StimulusOrder& order) {
  if (order.at) return typed_seconds(*order.at, "--at");
  auto now = recording_now_ns(session, order.capture, order.given_ns);
  if (!now) return usage(now.error().message + "; say when with --at SECONDS");
  return now;
}

// "12.5" "A" belong together: VALUE [UNIT].
Result<TypedReading> typed_reading(const std::string& channel, const Words& words,
                                   const StimulusOrder& order) {
  if (words.empty() || words.size() > 2) return usage("expected a value and perhaps its unit");
  TypedReading typed{channel, words[0], {}, order.uncertainty, order.kind};
  typed.sensor = order.sensor;
  typed.meter = order.meter;
  typed.range = order.range;
  typed.resolution = order.resolution;
  if (words.size() == 2) typed.unit = words[1];
  return typed;
}

void tell(const StimulusEntry& entry, std::int64_t number, const SessionRow& session) {
  for (const std::string& remark : entry.remarks) std::cerr << "note: " << remark << '\n';
  std::string time;
  append_seconds(time, entry.reading.t_ns);
  std::cerr << "reading " << number << ": " << entry.channel.name << " = "
            << reading_words(entry.channel, entry.reading) << " at " << time << " s of session "
            << session.id << '\n';
}

// The words of a state that were ever true, in the whole capture.
Result<Words> words_so_far(CaptureReader& reader, const std::string& channel) {
  const auto sessions = reader.sessions();
  if (!sessions) return sessions.error();
  std::set<std::string> words;
  for (const SessionRow& session : *sessions) {
    const auto readings = reader.readings(session.id);
    if (!readings) return readings.error();
    for (const StoredReading& one : *readings) {
      if (one.channel.name == channel && one.superseded_by == 0) words.insert(one.reading.state);
    }
  }
  return Words(words.begin(), words.end());
}

// The value with its slips settled, for a channel as the capture has it, if it has.
Result<std::string> settled_value(CaptureReader& reader, const std::string& value,
                                  const std::optional<Channel>& known, const StimulusOrder& order) {
  if (!known || !known->is_state()) return settle_doubt(doubt_of_number(value), value, false);
  const auto words = words_so_far(reader, known->name);
  if (!words) return words.error();
  return settle_doubt(doubt_of_word(known->name, value, *words), value, order.is_new);
}

Result<std::string> settled_channel(const std::string& name, const std::vector<Channel>& channels,
                                    const StimulusOrder& order) {
  Words known;
  for (const Channel& channel : channels) known.push_back(channel.name);
  return settle_doubt(doubt_of_channel(name, known), name, order.is_new);
}

Result<void> set(const Words& words, const StimulusOrder& order) {
  if (words.size() < 2) return usage("set: expected CHANNEL VALUE [UNIT]");
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto session = stimulus_session(*reader, order.capture, order.session);
  if (!session) return session.error();
  const auto now = time_of(*session, order);
  if (!now) return now.error();
  const auto channels = reader->channels();
  if (!channels) return channels.error();
  const auto name = settled_channel(words[0], *channels, order);
  if (!name) return name.error();
  std::optional<Channel> known;
  for (const Channel& channel : *channels) {
    if (channel.name == *name) known = channel;
  }
  auto typed = typed_reading(*name, Words(words.begin() + 1, words.end()), order);
  if (!typed) return typed.error();
  auto value = settled_value(*reader, typed->value, known, order);
  if (!value) return value.error();
  typed->value = std::move(value).value();
  auto entry = stimulus_entry(*typed, known);
  if (!entry) return entry.error();
  entry->reading.t_ns = *now;
  if (order.at) {
    if (auto good = check_time(*session, order, *now, entry->channel.kind); !good) return good;
  }
  const auto write = [&](CaptureWriter& writer) -> Result<void> {
    const auto channel = writer.ensure_channel(entry->channel);
    if (!channel) return channel.error();
    const auto number = writer.add_reading(session->id, *channel, entry->reading);
    if (!number) return number.error();
    tell(*entry, *number, *session);
    return {};
  };
  return order.at ? in_one_transaction(order.capture, write)
                  : in_running_session(order.capture, session->id, write);
}

struct FoundReading {
  SessionRow session;
  StoredReading stored;
};

// A number belongs to one reading of the whole capture; the session need not be said.
Result<FoundReading> find_reading(CaptureReader& reader, const StimulusOrder& order,
                                  const std::string& number) {
  auto sessions = reader.sessions();
  if (!sessions) return sessions.error();
  if (order.session) {
    auto wanted = reader.session(order.session);
    if (!wanted) return wanted.error();
    *sessions = {*wanted};
  }
  for (SessionRow& session : *sessions) {
    auto all = reader.readings(session.id);
    if (!all) return all.error();
    for (StoredReading& stored : *all) {
      if (std::to_string(stored.id) == number) return FoundReading{session, std::move(stored)};
    }
  }
  const std::string where =
      order.session ? "session " + std::to_string(*order.session) : order.capture.string();
  return Error{ErrorCode::not_found,
               where + " has no reading " + number + "; `list` shows their numbers"};
}

Result<void> withdraw(const StoredReading& old, const StimulusOrder& order) {
  auto writer = CaptureWriter::open(order.capture, stimulus_patience);
  if (!writer) return writer.error();
  if (auto done = writer->withdraw(old.id); !done) return done;
  std::cerr << "reading " << old.id << " of " << old.channel.name << " withdrawn\n";
  return writer->close();
}

Result<void> correct(const Words& words, const StimulusOrder& order) {
  if (words.empty() || (words.size() == 1) != order.withdraw) {
    return usage("correct: expected NUMBER VALUE [UNIT], or NUMBER --withdraw");
  }
  if (names_mark(words[0])) return correct_stimulus_mark(words, order);
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto found = find_reading(*reader, order, words[0]);
  if (!found) return found.error();
  const StoredReading* const old = &found->stored;
  if (order.withdraw) return withdraw(*old, order);
  auto typed = typed_reading(old->channel.name, Words(words.begin() + 1, words.end()), order);
  if (!typed) return typed.error();
  auto value = settled_value(*reader, typed->value, old->channel, order);
  if (!value) return value.error();
  typed->value = std::move(value).value();
  auto entry = stimulus_entry(*typed, old->channel);
  if (!entry) return entry.error();
  entry->reading.t_ns = old->reading.t_ns;
  if (!typed->uncertainty && !typed->meter && !old->channel.is_state()) {
    entry->reading.uncertainty = old->reading.uncertainty;
  }
  if (order.at) {
    const auto at = typed_seconds(*order.at, "--at");
    if (!at) return at.error();
    if (auto good = check_time(found->session, order, *at, old->channel.kind); !good) return good;
    entry->reading.t_ns = *at;
  }
  auto writer = CaptureWriter::open(order.capture, stimulus_patience);
  if (!writer) return writer.error();
  const auto number = writer->supersede(old->id, entry->reading);
  if (!number) return number.error();
  tell(*entry, *number, found->session);
  return writer->close();
}

Result<void> add_all(CaptureWriter& writer, std::int64_t session, const StimulusFile& file,
                     std::int64_t shift_ns) {
  if (auto begun = writer.begin(); !begun) return begun;
  for (const ChannelSeries& series : file.channels) {
    const auto channel = writer.ensure_channel(series.channel);
    if (!channel) return channel.error();
    std::vector<Reading> readings = series.readings;
    for (Reading& reading : readings) {
      reading.t_ns += shift_ns;
      if (reading.earliest_ns != Reading::no_time) reading.earliest_ns += shift_ns;
    }
    if (auto added = writer.add_readings(session, *channel, readings); !added) return added;
  }
  return writer.commit();
}

Result<void> import(const Words& words, const StimulusOrder& order) {
  if (words.size() != 1) return usage("import: expected one CSV file");
  if (order.sensor || order.meter || order.uncertainty) {
    return usage(
        "import: the file's own column uncertainty says how well a value is known, and its "
        "values are the channels' own");
  }
  std::int64_t shift_ns = 0;
  if (order.offset) {
    const auto offset = typed_seconds(*order.offset, "--offset");
    if (!offset) return offset.error();
    shift_ns = *offset;
  }
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto session = stimulus_session(*reader, order.capture, order.session);
  if (!session) return session.error();
  const auto channels = reader->channels();
  if (!channels) return channels.error();
  const SessionTimes times = session_times(*session, order.capture);
  shift_ns -= session->info.origin_ns;
  const auto file =
      read_stimulus_csv(words[0], *channels, [&](std::int64_t stamp, ChannelKind kind) {
        std::int64_t t_ns = 0;
        if (__builtin_add_overflow(stamp, shift_ns, &t_ns)) return std::string("is out of range");
        return times.fault_of(t_ns, kind);
      });
  if (!file) return file.error();
  auto writer = CaptureWriter::open(order.capture, stimulus_patience);
  if (!writer) return writer.error();
  auto added = add_all(*writer, session->id, *file, shift_ns);
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

constexpr std::array<Verb, 5> verbs{{{"set", set},
                                     {"mark", add_stimulus_mark},
                                     {"list", list_stimuli},
                                     {"import", import},
                                     {"correct", correct}}};

}  // namespace

bool is_stimulus_verb(std::string_view word) {
  return std::any_of(verbs.begin(), verbs.end(), [&](const Verb& v) { return word == v.name; });
}

Result<void> run_stimulus_verb(const std::string& verb, const Words& words,
                               const StimulusOrder& order) {
  Words known;
  for (const Verb& candidate : verbs) {
    known.emplace_back(candidate.name);
    if (verb != candidate.name) continue;
    // One file for all that it looks up and writes, and one moment: the name may lead elsewhere
    // before it is done, and what has to wait for the recorder was true when it was typed.
    StimulusOrder settled = order;
    settled.given_ns = boottime_now_ns();
    return over_rolls(order.capture, [&] {
      settled.capture = behind(order.capture);
      return candidate.run(words, settled);
    });
  }
  const auto near = nearest_word(verb, known);
  return usage(
      "unknown verb '" + verb + "'; " +
      (near ? "did you mean '" + *near + "'?" : "expected set, mark, list, import or correct"));
}

}  // namespace foundling
