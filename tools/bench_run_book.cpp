#include "tools/bench_run_book.h"

#include <algorithm>
#include <system_error>

#include "schemas/capture/capture_writer.h"
#include "tools/bench_run_progress.h"
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

// Runs `work` in one transaction.
template <typename Work>
Result<void> in_one(const std::filesystem::path& capture, Work work) {
  auto writer = CaptureWriter::open(capture, stimulus_patience);
  if (!writer) return writer.error();
  if (auto begun = writer->begin(); !begun) return begun;
  if (Result<void> done = work(*writer); !done) {
    writer->rollback();
    return done;
  }
  if (auto done = writer->commit(); !done) return done;
  return writer->close();
}

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

// The copy in a rolled file of what was set before it began.
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

// Runs `work` in one transaction; a new file gets the marks of the run first.
template <typename Work>
Result<void> RunBook::in_present(const Opened& opened, Work work) {
  const bool carry = !story_.empty() && opened.file != story_file_;
  auto done = in_one(opened.file, [&](CaptureWriter& writer) -> Result<void> {
    for (std::size_t i = 0; carry && i < story_.size(); ++i) {
      const auto made =
          writer.add_mark(opened.session.id, {opened.now_ns, story_[i].kind, story_[i].text});
      if (!made) return made.error();
    }
    return work(writer);
  });
  if (done && carry) story_file_ = opened.file;
  return done;
}

Result<std::int64_t> RunBook::now() {
  const auto opened = open();
  if (!opened) return opened.error();
  return opened->now_ns + opened->session.info.started_boot_ns;
}

Result<void> RunBook::mark(std::string_view kind, const std::string& text) {
  const auto opened = open();
  if (!opened) return opened.error();
  const Mark made{opened->now_ns, std::string(kind), text};
  if (kind == plan_mark) story_.clear();
  auto done = in_present(*opened, [&](CaptureWriter& writer) -> Result<void> {
    const auto number = writer.add_mark(opened->session.id, made);
    if (!number) return number.error();
    return {};
  });
  if (!done || !is_of_run(made.kind)) return done;
  story_.push_back(made);
  story_file_ = opened->file;
  return {};
}

Result<void> RunBook::write(std::vector<RunEntry>& entries) {
  const auto opened = open();
  if (!opened) return opened.error();
  return in_present(*opened, [&](CaptureWriter& writer) -> Result<void> {
    for (RunEntry& entry : entries) {
      entry.reading.t_ns = opened->now_ns;
      const auto channel = writer.ensure_channel(entry.channel);
      if (!channel) return channel.error();
      const auto number = writer.add_reading(opened->session.id, *channel, entry.reading);
      if (!number) return number.error();
      entry.number = *number;
      entry.file = opened->file;
    }
    return {};
  });
}

Result<void> RunBook::correct(std::vector<RunEntry>& entries) {
  auto opened = open();
  if (!opened) return opened.error();
  const auto supersede = [](CaptureWriter& writer, RunEntry& entry) -> Result<void> {
    const auto number = writer.supersede(entry.number, entry.reading);
    if (!number) return number.error();
    entry.number = *number;
    return {};
  };
  auto done = in_present(*opened, [&](CaptureWriter& writer) -> Result<void> {
    for (RunEntry& entry : entries) {
      RunEntry here = entry;
      if (entry.file != opened->file) {
        const auto copy = carried_over(opened->reader, opened->session.id, entry.channel.name);
        if (!copy) continue;
        here.number = copy->id;
        here.reading.t_ns = copy->reading.t_ns;
      }
      if (auto made = supersede(writer, here); !made) return made;
      if (entry.file == opened->file) entry = here;
    }
    return {};
  });
  if (!done) return done;
  for (RunEntry& entry : entries) {
    if (entry.file == opened->file) continue;
    done = in_one(entry.file, [&](CaptureWriter& writer) { return supersede(writer, entry); });
    if (!done) return done;
  }
  return {};
}

Result<void> RunBook::withdraw(const std::vector<RunEntry>& entries) {
  auto opened = open();
  if (!opened) return opened.error();
  auto done = in_present(*opened, [&](CaptureWriter& writer) -> Result<void> {
    for (const RunEntry& entry : entries) {
      std::int64_t number = entry.number;
      if (entry.file != opened->file) {
        const auto copy = carried_over(opened->reader, opened->session.id, entry.channel.name);
        if (!copy) continue;
        number = copy->id;
      }
      if (auto gone = writer.withdraw(number); !gone) return gone;
    }
    return {};
  });
  if (!done) return done;
  for (const RunEntry& entry : entries) {
    if (entry.file == opened->file) continue;
    done = in_one(entry.file, [&](CaptureWriter& w) { return w.withdraw(entry.number); });
    if (!done) return done;
  }
  return {};
}

Result<std::vector<StoredMark>> RunBook::marks() {
  auto opened = open();
  if (!opened) return opened.error();
  auto marks = opened->reader.marks(opened->session.id);
  if (!marks) return marks.error();
  story_ = story_of(*marks);
  story_file_ = opened->file;
  bool rolled = opened->session.id == 1;
  while (story_.empty() && rolled) {
    const auto before = rolled_from(story_file_);
    if (!before) break;
    auto reader = CaptureReader::open(*before);
    if (!reader) return reader.error();
    const auto sessions = reader->sessions();
    if (!sessions) return sessions.error();
    auto earlier = reader->marks(sessions->back().id);
    if (!earlier) return earlier.error();
    story_ = story_of(*earlier);
    story_file_ = *before;
    rolled = sessions->back().id == 1;
    if (!story_.empty()) return earlier;
  }
  return marks;
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
