// `foundling bench touch` on captures that this test makes, and with a person in a terminal.
#include <doctest/doctest.h>

#include <atomic>
#include <thread>

#include "decoder/touch/timing.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/capture/session_clock.h"
#include "tests/tools/bench_files.h"
#include "tests/tools/terminal_session.h"

namespace foundling {
namespace {

using touch::Timing;

constexpr std::int64_t ms = 1'000'000;

// A board of two messages: 0x100 every 20 ms with a counter and bit 1.3, 0x200 every 50 ms with
// noise.
struct Board {
  BenchFolder bench;
  std::filesystem::path capture = bench.folder / "a.capture";
  CaptureWriter writer = must(CaptureWriter::create(capture));
  SessionInfo info;
  std::int64_t session = 0;
  std::uint32_t noise = 1;

  Board() {
    must(writer.lock_for_recording());
    start_session_clock(info);
    session = must(writer.begin_session(info));
  }
  [[nodiscard]] std::int64_t now_ns() const { return boottime_now_ns() - info.started_boot_ns; }
  // Frames of [from, to); the bit is set where `is_set` says so.
  template <typename IsSet>
  void send(std::int64_t from_ns, std::int64_t to_ns, IsSet is_set) {
    std::vector<Frame> frames;
    for (std::int64_t t = (from_ns + 10 * ms - 1) / (10 * ms) * (10 * ms); t < to_ns;
         t += 10 * ms) {
      Frame frame;
      frame.t_ns = t;
      frame.length = 4;
      noise = noise * 1'664'525 + 1'013'904'223;
      if (t % (20 * ms) == 0) {
        frame.id = CanId::standard(0x100);
        frame.payload[0] = static_cast<std::uint8_t>(t / (20 * ms) % 16);
        frame.payload[1] = is_set(t) ? 8 : 0;
        frames.push_back(frame);
      }
      if (t % (50 * ms) == 0) {
        frame.id = CanId::standard(0x200);
        frame.payload[0] = static_cast<std::uint8_t>(noise >> 24U);
        frame.payload[1] = 0;
        frames.push_back(frame);
      }
    }
    must(writer.add_frames(session, frames));
  }
  void mark(std::int64_t t_ns, const std::string& text) {
    must(writer.add_mark(session, {t_ns, "touch", text}));
  }
  [[nodiscard]] std::vector<StoredReading> readings() const {
    return must(must(CaptureReader::open(capture)).readings(session));
  }
};

// Turns a window apart, the bit 700 ms after the word if `answers`.
void recorded_test(Board& board, int turns, bool answers) {
  const Timing timing;
  board.mark(0, "begun plug in out turns " + std::to_string(turns) + " pace 1");
  std::vector<std::int64_t> changes;
  for (int i = 0; i < turns; ++i) {
    const std::int64_t start = 11'000 * ms + i * 11'000 * ms;
    const int place = i * 5 % touch::places;
    board.mark(start, "turn " + std::to_string(i + 1) + " plug " + (i % 2 == 0 ? "out" : "in") +
                          " place " + std::to_string(place));
    changes.push_back(start + timing.word_ns(place) + 700 * ms);
  }
  board.mark((turns + 1) * 11'000 * ms, "finished plug");
  board.send(0, (turns + 1) * 11'000 * ms, [&](std::int64_t t) {
    const auto done = std::count_if(changes.begin(), changes.end(),
                                    [t](std::int64_t change) { return change <= t; });
    return answers && done % 2 == 1;
  });
}

}  // namespace

TEST_CASE("a recorded touch test says which bit answered, when, and with what chance") {
  Board board;
  recorded_test(board, 8, true);
  must(board.writer.close());
  const auto ran = board.bench.run("bench touch a.capture plug --show");
  CHECK(ran.err.empty());
  CHECK(ran.status == 0);
  CHECK(has(ran.out, "1. 100 bit 1.3: 0 while in, 1 while out; 0.7 s after"));
  CHECK(has(ran.out, "in 8 of 8 turns"));
  CHECK(has(ran.out, "as well with chance 0.001."));
  for (std::size_t at = 0, end = 0; at < ran.out.size(); at = end + 1) {
    end = ran.out.find('\n', at);
    CHECK(end - at <= 60);
  }
}

TEST_CASE("where nothing followed the word, nothing is claimed") {
  Board board;
  recorded_test(board, 8, false);
  must(board.writer.close());
  const auto ran = board.bench.run("bench touch a.capture plug --show");
  CHECK(ran.status == 1);
  CHECK_FALSE(has(ran.out, "chance 0.00"));
  CHECK_FALSE(has(ran.out, "100 bit 1.3"));
}

TEST_CASE("a touch test that cannot be is refused with its reason, and nothing is written") {
  Board board;
  must(board.writer.ensure_channel({"pack_current", "A", ChannelKind::hold}));
  const auto refusal = [&](const std::string& words) {
    const auto ran = board.bench.run("bench touch " + words);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    return ran.err;
  };
  CHECK(has(refusal("a.capture plug in in"), "the two states are both called \"in\""));
  CHECK(has(refusal("a.capture plug in"), "expected two states: as it is now, and the other"));
  CHECK(has(refusal("a.capture 'a plug' in out"), "channel \"a plug\""));
  CHECK(has(refusal("a.capture plug in out --pace 0"), "--pace: expected 0.1 to 20"));
  CHECK(has(refusal("a.capture plug in out --turns 0"), "--turns: expected 1 to 100"));
  CHECK(has(refusal("a.capture pack_current in out"), "channel pack_current is in A"));
  CHECK(has(refusal("none.capture plug in out"), "none.capture"));
  CHECK(has(refusal("a.capture plug --show"), "no touch test of plug in it"));
  CHECK(board.readings().empty());
  must(board.writer.close());
  CHECK(has(refusal("a.capture plug in out"), "nobody is recording into this capture now"));
}

TEST_CASE("a script that types anything else is refused with its line") {
  Board board;
  put(board.bench.folder / "s", "yes\n# in it is\n\nhold: maybe\n");
  const auto ran = board.bench.run("bench touch a.capture plug in out --pace 0.1 --script s");
  CHECK(ran.status == 2);
  CHECK(has(ran.err, "s:4: error: expected Enter, undo, stop or quit, found \"maybe\""));
}

TEST_CASE("a person's turns are readings from the word to Enter; undo, leave and go on") {
  Board board;
  std::atomic<bool> plug_out{false}, stop{false};
  std::thread recorder([&] {
    for (std::int64_t sent = 0; !stop;) {
      const std::int64_t now = board.now_ns();
      board.send(sent, now, [&](std::int64_t) { return plug_out.load(); });
      sent = now;
      std::this_thread::sleep_for(std::chrono::milliseconds(30));
    }
  });
  const std::string words = "bench touch a.capture plug in out --pace 0.1 --turns 3";
  const auto agree = [](TerminalSession& person) {
    REQUIRE(person.shows("one hand"));
    REQUIRE(person.shows("Type yes to go on:"));
    person.type("yes\n");
  };
  const auto turn = [&](TerminalSession& person, const std::string& state) {
    REQUIRE(person.shows("NOW: plug = " + state));
    plug_out = state == "out";
    person.type("\n");
  };
  {
    TerminalSession person(board.bench.folder.path(), words);
    agree(person);
    REQUIRE(person.shows("Set plug = in, then Enter:"));
    person.type("\n");
    turn(person, "out");
    REQUIRE(person.shows("After 1 turn:"));
    person.type("undo\n");
    REQUIRE(person.shows("Taken back"));
    REQUIRE(person.shows("Set plug = in, then Enter:"));
    plug_out = false;
    person.type("\n");
    turn(person, "out");
    REQUIRE(person.shows("After 1 turn:"));
    person.type("quit\n");
    REQUIRE(person.shows("Left. The same command goes on with it."));
    CHECK(person.status() == 0);
  }
  TerminalSession person(board.bench.folder.path(), words);
  agree(person);
  REQUIRE(person.shows("Going on; turns so far: 1."));
  REQUIRE(person.shows("Set plug = out, then Enter:"));
  person.type("\n");
  turn(person, "in");
  turn(person, "out");
  REQUIRE(person.shows("All 3 turns as settled"));
  (void)person.status();
  stop = true;
  recorder.join();
  std::vector<StoredReading> valid;
  for (const StoredReading& one : board.readings()) {
    if (one.superseded_by == 0 && one.reading.earliest_ns != Reading::no_time) {
      valid.push_back(one);
    }
  }
  REQUIRE(valid.size() == 3);
  for (const StoredReading& one : valid) {
    CHECK(one.channel.is_state());
    CHECK(one.reading.earliest_ns <= one.reading.t_ns);
  }
  CHECK(valid[0].reading.state == "out");
  CHECK(valid[1].reading.state == "in");
}

}  // namespace foundling
