#include "tools/bench_touch_book.h"

#include <algorithm>
#include <limits>
#include <system_error>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "tools/one_transaction.h"
#include "tools/rolled_captures.h"
#include "tools/stimulus_session.h"
#include "tools/stimulus_verbs.h"

namespace foundling {
namespace {

Channel channel_of(const TouchPlan& plan) { return {plan.channel, "state", ChannelKind::hold}; }

Result<void> add_reading(CaptureWriter& writer, std::int64_t session, const TouchPlan& plan,
                         Reading reading) {
  const auto channel = writer.ensure_channel(channel_of(plan));
  if (!channel) return channel.error();
  const auto made = writer.add_reading(session, *channel, reading);
  if (!made) return made.error();
  return {};
}

// The last row before all frames from that time on: rows are in order of time but for the few that
// the recorder's queues exchange.
Result<std::int64_t> row_before(CaptureReader& reader, const SessionRow& session,
                                std::int64_t t_ns) {
  std::int64_t low = 0, high = session.last_row;
  while (low + 1 < high) {
    const std::int64_t middle = low + (high - low) / 2;
    std::int64_t found = std::numeric_limits<std::int64_t>::max();
    const auto done = reader.frames_after(session.id, middle, [&](const Frame& frame) {
      found = frame.t_ns;
      return false;
    });
    if (!done) return done.error();
    (found < t_ns ? low : high) = middle;
  }
  return low;
}

constexpr std::int64_t slack_ns = 1'000'000'000;  // more than frames are out of order

Result<void> take_frames(CaptureReader& reader, const SessionRow& session, std::int64_t from_ns,
                         std::int64_t to_ns, std::vector<Frame>& out) {
  const std::int64_t start = session.info.started_boot_ns;
  const auto row = row_before(reader, session, from_ns - start - slack_ns);
  if (!row) return row.error();
  const auto done = reader.frames_after(session.id, *row, [&](const Frame& stored) {
    if (stored.t_ns + start >= to_ns + slack_ns) return false;
    Frame frame = stored;
    frame.t_ns += start;
    if (frame.t_ns >= from_ns && frame.t_ns < to_ns) out.push_back(frame);
    return true;
  });
  if (!done) return done.error();
  return {};
}

}  // namespace

struct TouchBook::Opened {
  std::filesystem::path file;
  SessionRow session;
  std::int64_t now_ns;  // on the session's line
};

Result<TouchBook::Opened> TouchBook::open() const {
  const std::filesystem::path file = behind(capture_);
  auto reader = CaptureReader::open(file);
  if (!reader) return reader.error();
  auto session = stimulus_session(*reader, capture_, {});
  if (!session) return session.error();
  const auto now = recording_now_ns(*session, file);
  if (!now) return now.error();
  return Opened{file, std::move(session).value(), *now};
}

Result<std::optional<TouchStory>> TouchBook::story(const std::string& channel) {
  bool last = true;
  for (std::optional<std::filesystem::path> at = behind(capture_); at; at = rolled_from(*at)) {
    auto reader = CaptureReader::open(*at);
    if (!reader) return reader.error();
    const auto sessions = reader->sessions();
    if (!sessions) return sessions.error();
    if (sessions->empty()) break;
    const SessionRow& session = sessions->back();
    auto marks = reader->marks(session.id);
    if (!marks) return marks.error();
    auto story = touch_story(std::move(marks).value(), channel);
    if (story) {
      story->begun_ns += session.info.started_boot_ns;
      for (TouchTurn& turn : story->turns) turn.start_ns += session.info.started_boot_ns;
      // Turns of an earlier file cannot be written to any more, so a test is not gone on with
      // there.
      story->finished = story->finished || !last;
      return story;
    }
    last = false;
  }
  return std::optional<TouchStory>();
}

Result<std::vector<Frame>> TouchBook::frames(std::int64_t from_ns, std::int64_t to_ns) {
  std::vector<Frame> out;
  std::string boot;
  for (std::optional<std::filesystem::path> at = behind(capture_); at; at = rolled_from(*at)) {
    auto reader = CaptureReader::open(*at);
    if (!reader) return reader.error();
    const auto sessions = reader->sessions();
    if (!sessions) return sessions.error();
    if (sessions->empty()) break;
    if (boot.empty()) boot = sessions->back().info.boot_id;
    bool all_later = true;
    for (const SessionRow& session : *sessions) {
      if (session.info.boot_id != boot || session.frames == 0) continue;
      const std::int64_t start = session.info.started_boot_ns;
      all_later = all_later && start + session.first_ns > from_ns;
      if (start + session.first_ns >= to_ns || start + session.last_ns < from_ns) continue;
      if (auto done = take_frames(*reader, session, from_ns, to_ns, out); !done) {
        return done.error();
      }
    }
    if (!all_later) break;
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Frame& a, const Frame& b) { return a.t_ns < b.t_ns; });
  return out;
}

Result<std::vector<Channel>> TouchBook::channels() {
  auto reader = CaptureReader::open(behind(capture_));
  if (!reader) return reader.error();
  return reader->channels();
}

Result<std::int64_t> TouchBook::now() {
  const auto opened = open();
  if (!opened) return opened.error();
  return opened->now_ns + opened->session.info.started_boot_ns;
}

Result<std::int64_t> TouchBook::begin(const TouchPlan& plan) {
  return over_rolls(capture_, [&]() -> Result<std::int64_t> {
    const auto opened = open();
    if (!opened) return opened.error();
    const std::int64_t session = opened->session.id, now = opened->now_ns;
    auto done = in_running_session(
        opened->file, opened->session.id, [&](CaptureWriter& writer) -> Result<void> {
          const auto made =
              writer.add_mark(session, {now, std::string(touch_mark), begun_words(plan)});
          if (!made) return made.error();
          Reading reading;
          reading.t_ns = now;
          reading.state = plan.states[0];
          return add_reading(writer, session, plan, reading);
        });
    if (!done) return done.error();
    return now + opened->session.info.started_boot_ns;
  });
}

Result<void> TouchBook::write(const TouchPlan& plan, TouchTurn& turn, int number,
                              std::int64_t word_ns) {
  return over_rolls(capture_, [&]() -> Result<void> {
    const auto opened = open();
    if (!opened) return opened.error();
    const std::int64_t start = opened->session.info.started_boot_ns;
    return in_running_session(
        opened->file, opened->session.id, [&](CaptureWriter& writer) -> Result<void> {
          const auto mark = writer.add_mark(
              opened->session.id,
              {turn.start_ns - start, std::string(touch_mark), turn_words(plan, turn, number)});
          if (!mark) return mark.error();
          turn.mark = *mark;
          Reading reading;
          reading.t_ns = opened->now_ns;
          reading.earliest_ns = std::min(word_ns - start, reading.t_ns);
          reading.state = plan.states[static_cast<std::size_t>(turn.target)];
          return add_reading(writer, opened->session.id, plan, reading);
        });
  });
}

Result<void> TouchBook::stands(const TouchPlan& plan, int state) {
  return over_rolls(capture_, [&]() -> Result<void> {
    const auto opened = open();
    if (!opened) return opened.error();
    return in_running_session(opened->file, opened->session.id, [&](CaptureWriter& writer) {
      Reading reading;
      reading.t_ns = opened->now_ns;
      reading.state = plan.states[static_cast<std::size_t>(state)];
      return add_reading(writer, opened->session.id, plan, reading);
    });
  });
}

// The reading is the channel's first from the turn's window on.
Result<void> TouchBook::take_back(const TouchPlan& plan, const TouchTurn& turn) {
  return over_rolls(capture_, [&]() -> Result<void> {
    const auto opened = open();
    if (!opened) return opened.error();
    if (turn.start_ns < opened->session.info.started_boot_ns) {
      return Error{ErrorCode::usage,
                   "the recorder has gone on in another file or session since that turn; it stays"};
    }
    auto reader = CaptureReader::open(opened->file);
    if (!reader) return reader.error();
    const auto all = reader->readings(opened->session.id);
    if (!all) return all.error();
    const StoredReading* of_turn = nullptr;
    const std::int64_t from = turn.start_ns - opened->session.info.started_boot_ns;
    for (const StoredReading& one : *all) {
      const bool may = one.superseded_by == 0 && one.channel.name == plan.channel &&
                       one.reading.t_ns >= from && one.reading.earliest_ns != Reading::no_time;
      if (may && (of_turn == nullptr || one.reading.t_ns < of_turn->reading.t_ns)) of_turn = &one;
    }
    return in_running_session(opened->file, opened->session.id,
                              [&](CaptureWriter& writer) -> Result<void> {
                                if (of_turn != nullptr) {
                                  if (auto done = writer.withdraw(of_turn->id); !done) return done;
                                }
                                return writer.withdraw_mark(turn.mark);
                              });
  });
}

Result<void> TouchBook::finish(const TouchPlan& plan) {
  return over_rolls(capture_, [&]() -> Result<void> {
    const auto opened = open();
    if (!opened) return opened.error();
    return in_running_session(
        opened->file, opened->session.id, [&](CaptureWriter& writer) -> Result<void> {
          const auto made = writer.add_mark(
              opened->session.id,
              {opened->now_ns, std::string(touch_mark), finished_touch_words(plan)});
          if (!made) return made.error();
          return {};
        });
  });
}

}  // namespace foundling
