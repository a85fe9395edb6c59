#include "tools/bench_run_book.h"

#include <algorithm>
#include <limits>
#include <map>
#include <system_error>
#include <utility>

#include "schemas/capture/capture_writer.h"
#include "tools/bench_run_progress.h"
#include "tools/one_transaction.h"
#include "tools/rolled_captures.h"
#include "tools/stimulus_session.h"
#include "tools/stimulus_verbs.h"

namespace foundling {

struct RunBook::Opened {
  std::filesystem::path file;
  CaptureReader reader;
  SessionRow session;
  std::int64_t now_ns;
};

namespace {

bool is_of_run(const std::string& kind) { return kind == plan_mark || kind == step_mark; }

// Valid marks of the last plan and its steps, in the order in which they were written.
std::vector<Mark> story_of(const std::vector<StoredMark>& marks) {
  std::vector<StoredMark> valid;
  for (const StoredMark& one : marks) {
    if (one.superseded_by == 0 && is_of_run(one.mark.kind)) valid.push_back(one);
  }
  std::ranges::sort(valid, {}, &StoredMark::id);
  std::vector<Mark> story;
  for (const StoredMark& one : valid) {
    if (one.mark.kind == plan_mark) story.clear();
    story.push_back(one.mark);
  }
  if (!story.empty() && story.front().kind != plan_mark) story.clear();
  return story;
}

// The last valid reading of each channel that holds what was set.
Result<std::vector<StoredReading>> standing_in(CaptureReader& reader, std::int64_t session) {
  const auto all = reader.readings(session);
  if (!all) return all.error();
  std::map<std::string, StoredReading> last;
  for (const StoredReading& one : *all) {
    if (one.superseded_by != 0 || one.channel.kind != ChannelKind::hold) continue;
    const auto known = last.find(one.channel.name);
    if (known == last.end()) {
      last.emplace(one.channel.name, one);
    } else if (one.reading.t_ns >= known->second.reading.t_ns) {
      known->second = one;
    }
  }
  std::vector<StoredReading> out;
  for (auto& [name, one] : last) out.push_back(std::move(one));
  return out;
}

// The copy in a new file or session of what was set before it began.
std::optional<StoredReading> carried_over(CaptureReader& reader, std::int64_t session,
                                          const std::string& channel) {
  const auto all = reader.readings(session);
  if (!all) return {};
  std::optional<StoredReading> found;
  for (const StoredReading& one : *all) {
    const bool before = one.superseded_by == 0 && one.reading.t_ns <= 0;
    if (before && one.channel.name == channel) found = one;
  }
  return found;
}

// A first session that goes on with what the file before it ended with.
bool began_by_rolling(const std::filesystem::path& file, std::int64_t session) {
  return session == 1 && rolled_from(file).has_value();
}

}  // namespace

Result<RunBook::Opened> RunBook::open() const {
  std::error_code failure;
  std::filesystem::path file = std::filesystem::canonical(capture_, failure);
  if (failure) file = capture_;
  auto reader = CaptureReader::open(file);
  if (!reader) return reader.error();
  auto session = stimulus_session(*reader, capture_, {});
  if (!session) return session.error();
  const auto now = recording_now_ns(*session, file);
  if (!now) return now.error();
  return Opened{std::move(file), std::move(reader).value(), std::move(session).value(), *now};
}

// A new file or session gets the marks of the run, and what stood, before anything else is written
// there: a correction looks up what it got.
Result<void> RunBook::take_over(const Opened& opened) {
  const bool is_new = opened.file != story_.file || opened.session.id != story_.session;
  if (story_.marks.empty() || !is_new) {
    standing_.clear();
    return {};
  }
  // What stood while this run was at it has stood ever since; what another run left was looked at
  // only now.
  std::int64_t since_ns = opened.now_ns;
  std::vector<StoredReading> standing = standing_;
  if (standing.empty() && !began_by_rolling(opened.file, opened.session.id)) {
    auto reader = CaptureReader::open(story_.file);
    if (!reader) return reader.error();
    auto stood = standing_in(*reader, story_.session);
    if (!stood) return stood.error();
    standing = std::move(stood).value();
    since_ns = 0;
  }
  auto done = in_running_session(
      opened.file, opened.session.id, [&](CaptureWriter& writer) -> Result<void> {
        for (const Mark& mark : story_.marks) {
          const auto made =
              writer.add_mark(opened.session.id, {opened.now_ns, mark.kind, mark.text});
          if (!made) return made.error();
        }
        for (const StoredReading& one : standing) {
          Reading reading = one.reading;
          reading.t_ns = since_ns;
          reading.earliest_ns = 0;
          const auto channel = writer.ensure_channel(one.channel);
          if (!channel) return channel.error();
          const auto made = writer.add_reading(opened.session.id, *channel, reading);
          if (!made) return made.error();
        }
        return {};
      });
  if (!done) return done;
  story_.file = opened.file;
  story_.session = opened.session.id;
  standing_.clear();
  return {};
}

bool RunBook::is_elsewhere(const RunEntry& entry, const Opened& opened) const {
  return entry.at.file != opened.file || entry.at.session != opened.session.id;
}

Result<std::int64_t> RunBook::now() {
  const auto opened = open();
  if (!opened) return opened.error();
  return opened->now_ns + opened->session.info.started_boot_ns;
}

Result<void> RunBook::mark(std::string_view kind, const std::string& text) {
  return over_rolls(capture_, [&]() -> Result<void> {
    const auto opened = open();
    if (!opened) return opened.error();
    const Mark made{opened->now_ns, std::string(kind), text};
    if (kind == plan_mark) {
      story_ = {};
      standing_.clear();
    }
    if (auto done = take_over(*opened); !done) return done;
    auto done = in_running_session(opened->file, opened->session.id,
                                   [&](CaptureWriter& writer) -> Result<void> {
                                     const auto number = writer.add_mark(opened->session.id, made);
                                     if (!number) return number.error();
                                     return {};
                                   });
    if (!done || !is_of_run(made.kind)) return done;
    story_.marks.push_back(made);
    story_.file = opened->file;
    story_.session = opened->session.id;
    return {};
  });
}

Result<void> RunBook::write(std::vector<RunEntry>& entries) {
  return over_rolls(capture_, [&]() -> Result<void> {
    const auto opened = open();
    if (!opened) return opened.error();
    if (auto done = take_over(*opened); !done) return done;
    return in_running_session(
        opened->file, opened->session.id, [&](CaptureWriter& writer) -> Result<void> {
          for (RunEntry& entry : entries) {
            entry.reading.t_ns = opened->now_ns;
            if (entry.asked_ns != Reading::no_time) {
              entry.reading.earliest_ns = entry.asked_ns - opened->session.info.started_boot_ns;
            }
            const auto channel = writer.ensure_channel(entry.channel);
            if (!channel) return channel.error();
            const auto number = writer.add_reading(opened->session.id, *channel, entry.reading);
            if (!number) return number.error();
            entry.at = {*number, opened->file, opened->session.id};
          }
          return {};
        });
  });
}

Result<void> RunBook::correct(std::vector<RunEntry>& entries) {
  return over_rolls(capture_, [&]() -> Result<void> {
    auto opened = open();
    if (!opened) return opened.error();
    const auto supersede = [](CaptureWriter& writer, RunEntry& entry) -> Result<void> {
      const auto number = writer.supersede(entry.at.number, entry.reading);
      if (!number) return number.error();
      entry.at.number = *number;
      return {};
    };
    auto done = take_over(*opened);
    if (!done) return done;
    done = in_running_session(
        opened->file, opened->session.id, [&](CaptureWriter& writer) -> Result<void> {
          for (RunEntry& entry : entries) {
            RunEntry here = entry;
            if (is_elsewhere(entry, *opened)) {
              const auto copy =
                  carried_over(opened->reader, opened->session.id, entry.channel.name);
              if (!copy) continue;
              here.at.number = copy->id;
              here.reading.t_ns = copy->reading.t_ns;
              here.reading.earliest_ns = copy->reading.earliest_ns;
            }
            if (auto made = supersede(writer, here); !made) return made;
            if (!is_elsewhere(entry, *opened)) entry = here;
          }
          return {};
        });
    if (!done) return done;
    for (RunEntry& entry : entries) {
      if (!is_elsewhere(entry, *opened)) continue;
      done = in_one_transaction(entry.at.file,
                                [&](CaptureWriter& writer) { return supersede(writer, entry); });
      if (!done) return done;
    }
    return {};
  });
}

Result<void> RunBook::withdraw(const std::vector<RunEntry>& entries) {
  return over_rolls(capture_, [&]() -> Result<void> {
    auto opened = open();
    if (!opened) return opened.error();
    auto done = take_over(*opened);
    if (!done) return done;
    done = in_running_session(
        opened->file, opened->session.id, [&](CaptureWriter& writer) -> Result<void> {
          for (const RunEntry& entry : entries) {
            std::int64_t number = entry.at.number;
            if (is_elsewhere(entry, *opened)) {
              const auto copy =
                  carried_over(opened->reader, opened->session.id, entry.channel.name);
              if (!copy) continue;
              number = copy->id;
            }
            if (auto gone = writer.withdraw(number); !gone) return gone;
          }
          return {};
        });
    if (!done) return done;
    for (const RunEntry& entry : entries) {
      if (!is_elsewhere(entry, *opened)) continue;
      done = in_one_transaction(entry.at.file,
                                [&](CaptureWriter& w) { return w.withdraw(entry.at.number); });
      if (!done) return done;
    }
    return {};
  });
}

Result<std::vector<StoredMark>> RunBook::marks(const std::string& plan_text) {
  auto opened = open();
  if (!opened) return opened.error();
  auto marks = opened->reader.marks(opened->session.id);
  if (!marks) return marks.error();
  standing_.clear();
  story_ = {story_of(*marks), opened->file, opened->session.id,
            opened->session.info.started_boot_ns};
  std::int64_t session = opened->session.id;
  while (story_.marks.empty() && began_by_rolling(story_.file, session)) {
    const auto before = rolled_from(story_.file);
    auto reader = CaptureReader::open(*before);
    if (!reader) return reader.error();
    const auto sessions = reader->sessions();
    if (!sessions) return sessions.error();
    session = sessions->back().id;
    auto earlier = reader->marks(session);
    if (!earlier) return earlier.error();
    story_ = {story_of(*earlier), *before, session, sessions->back().info.started_boot_ns};
    if (!story_.marks.empty()) return earlier;
  }
  if (!story_.marks.empty()) return marks;
  return marks_before(*opened, plan_text);
}

// From before the recorder was started anew; the present session's where there is no such story.
Result<std::vector<StoredMark>> RunBook::marks_before(const Opened& opened,
                                                      const std::string& plan_text) {
  std::vector<StoredMark> marks;
  auto taken = take(story_.file, plan_text, story_.session, marks);
  constexpr std::int64_t any_session = std::numeric_limits<std::int64_t>::max();
  const auto number_before = numbered_before(story_.file);
  if (taken && !*taken && number_before) {
    taken = take(*number_before, plan_text, any_session, marks);
  }
  if (taken && !*taken && !before_.empty()) taken = take(before_, plan_text, any_session, marks);
  if (!taken) return taken.error();
  if (*taken) return marks;
  story_ = {{}, opened.file, opened.session.id};
  auto reader = CaptureReader::open(opened.file);
  if (!reader) return reader.error();
  return reader->marks(opened.session.id);
}

// The last story in `file`, or in those from which it was rolled over, if it is this plan's and was
// not finished. Only the last one: what was done after it by another plan is no longer where this
// one left it.
Result<bool> RunBook::take(const std::filesystem::path& file, const std::string& plan_text,
                           std::int64_t before_session, std::vector<StoredMark>& marks) {
  std::error_code failure;
  std::filesystem::path last = std::filesystem::canonical(file, failure);
  if (failure) last = file;
  std::vector<StoredReading> standing;
  for (std::optional<std::filesystem::path> at = last; at; at = rolled_from(*at)) {
    auto reader = CaptureReader::open(*at);
    if (!reader) return reader.error();
    const auto sessions = reader->sessions();
    if (!sessions) return sessions.error();
    // What stood last is in the file that the recorder went on with.
    bool went_on = at != last;
    for (auto row = sessions->rbegin(); row != sessions->rend(); ++row) {
      if (at == last && row->id >= before_session) continue;
      if (!std::exchange(went_on, false)) {
        auto stood = standing_in(*reader, row->id);
        if (!stood) return stood.error();
        standing = std::move(stood).value();
      }
      auto all = reader->marks(row->id);
      if (!all) return all.error();
      std::vector<Mark> story = story_of(*all);
      if (story.empty()) continue;
      if (story.front().text != plan_text || story.back().text == finished_words) return false;
      story_ = {std::move(story), *at, row->id};
      standing_ = std::move(standing);
      marks = std::move(all).value();
      return true;
    }
  }
  return false;
}

std::optional<std::int64_t> RunBook::marked_ns(const std::string& words) const {
  if (!story_.started_boot_ns) return {};
  for (auto mark = story_.marks.rbegin(); mark != story_.marks.rend(); ++mark) {
    if (words.empty() || mark->text == words) return mark->t_ns + *story_.started_boot_ns;
  }
  return {};
}

Result<std::vector<Channel>> RunBook::channels() {
  auto opened = open();
  if (!opened) return opened.error();
  return opened->reader.channels();
}

Result<std::vector<Reading>> RunBook::readings_since(const std::string& channel,
                                                     std::int64_t from_ns) {
  auto opened = open();
  if (!opened) return opened.error();
  const auto all = opened->reader.readings(opened->session.id);
  if (!all) return all.error();
  const std::int64_t from = from_ns - opened->session.info.started_boot_ns;
  std::vector<Reading> found;
  for (const StoredReading& stored : *all) {
    const bool valid = stored.superseded_by == 0 && stored.channel.name == channel;
    if (valid && stored.reading.t_ns >= from) found.push_back(stored.reading);
  }
  return found;
}

}  // namespace foundling
