// The rehearsal: what the hand sets on the simulated board, and the whole walk against it in
// terminals, as a person practises it.
#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include "tests/tools/bench_files.h"
#include "tests/tools/terminal_session.h"
#include "tools/bench_run_progress.h"
#include "tools/rehearsal_hand.h"

namespace foundling {
namespace {

using board::Input;

constexpr const char* plan = R"(foundling plan 1
hold 0.5 s

channel pack_current A
  limits -60..60 A
  settle 0.2 s

series cell 01..28 V
  limits 2.6..3.6 V
  rest 3.3 V
  settle 0.2 s

channel interlock state
  words closed open
  settle 0.2 s

step 1
  set pack_current = 20 A
  set interlock = open

step 2
  set cell_03 = 3450 mV
  set pack_current = -40 A
)";

// What a walk leaves in the capture, line by line.
struct Story {
  std::vector<StoredMark> marks;
  std::vector<StoredReading> readings;
  std::int64_t now_ns = 0;

  void mark(std::string_view kind, const std::string& text) {
    now_ns += 1'000'000'000;
    marks.push_back(
        {static_cast<std::int64_t>(marks.size()) + 1, {now_ns, std::string(kind), text}, 0});
  }
  void step(int number, StepState state) { mark(step_mark, step_words(number, state)); }
  void reading(const std::string& channel, const std::string& unit, double value) {
    now_ns += 1'000'000'000;
    StoredReading one;
    one.id = static_cast<std::int64_t>(readings.size()) + 1;
    one.channel = {channel, unit, ChannelKind::hold};
    one.reading.t_ns = now_ns;
    one.reading.value = value;
    readings.push_back(one);
  }
};

}  // namespace

TEST_CASE("the hand sets what is asked for at once, and goes by what was written down") {
  Story story;
  RehearsalHand hand;
  const auto look = [&]() -> const board::Inputs& {
    hand.look(story.marks, story.readings);
    return hand.terminals();
  };
  CHECK(look().cell(2) == 3.3);
  story.mark(plan_mark, plan);  // everything is asked to rest
  CHECK(look()[Input::pack_current] == 0);
  CHECK(hand.terminals().closed(Input::interlock));
  story.mark(step_mark, std::string(at_rest_words));
  story.step(1, StepState::begun);
  CHECK(look()[Input::pack_current] == 20);
  CHECK_FALSE(hand.terminals().closed(Input::interlock));
  CHECK(hand.terminals().cell(2) == 3.3);
  const auto news = hand.news();
  REQUIRE(!news.empty());
  CHECK(news.back() == "step 1: pack_current = 20 A, interlock = open");
  story.reading("pack_current", "A", 19.5);  // what the meter showed
  CHECK(look()[Input::pack_current] == 19.5);
  story.step(1, StepState::done);
  story.step(2, StepState::begun);
  CHECK(look()[Input::pack_current] == -40);
  CHECK(hand.terminals().cell(2) == doctest::Approx(3.45));
  // Skipped before anything was set: as it stood.
  story.step(2, StepState::skipped);
  story.mark(step_mark, std::string(finished_words));
  CHECK(look()[Input::pack_current] == 0);
}

TEST_CASE("the hand obeys readings that no walk asked for, and says what the board has not") {
  Story story;
  RehearsalHand hand;
  story.reading("pack_current", "mA", 12500);
  story.reading("oil_pressure", "kPa", 5);
  hand.look(story.marks, story.readings);
  hand.look(story.marks, story.readings);
  CHECK(hand.terminals()[Input::pack_current] == 12.5);
  const auto news = hand.news();
  REQUIRE(news.size() == 1);
  CHECK(news[0] == "the simulated board cannot set oil_pressure; it goes on without");
}

TEST_CASE("a whole walk is practised without hardware: the board says what was asked for") {
  BenchFolder bench;
  put(bench.folder / "a.plan", plan);
  TerminalSession board(bench.folder.path(), "demo --obey try.capture");
  REQUIRE(board.shows("Ctrl-C stops"));
  std::this_thread::sleep_for(std::chrono::milliseconds(2000));  // the board tests itself first
  TerminalSession walk(bench.folder.path(), "bench run a.plan try.capture");
  REQUIRE(walk.shows("yes"));
  walk.type("yes\r");
  REQUIRE(walk.shows("Press Enter when done"));
  REQUIRE(board.shows("everything at rest"));
  walk.type("\r");
  for (const char* const asked : {"step 1:", "", "step 2:", ""}) {
    REQUIRE(walk.shows("Enter when set"));
    if (*asked != '\0') REQUIRE(board.shows(asked));
    walk.type("\r");
  }
  REQUIRE(walk.shows("All steps are through"));
  walk.type("\r");
  REQUIRE(walk.shows("Done."));
  CHECK(walk.status() == 0);
  std::this_thread::sleep_for(std::chrono::milliseconds(600));
  board.type("\x03");
  REQUIRE(board.shows("all invented by a simulated board"));
  CHECK(board.status() == 0);

  const auto ran = bench.run("decode try.capture " FOUNDLING_SOURCE_DIR
                             "/captures_demo/tractor.signals --no-sanity --signal pack_current "
                             "--signal cell_03 --signal interlock");
  CHECK(ran.status == 0);
  bool twenty = false;
  bool minus_forty = false;
  double last = -1;
  std::istringstream lines(ran.out);
  for (std::string line; std::getline(lines, line);) {
    const auto at = line.find(",pack_current,");
    if (at == std::string::npos) continue;
    last = std::atof(line.c_str() + at + 14);
    twenty |= std::abs(last - 20) < 1;
    minus_forty |= std::abs(last + 40) < 1;
  }
  CHECK(twenty);
  CHECK(minus_forty);
  CHECK(std::abs(last) < 1);  // back at rest
  CHECK(has(ran.out, ",interlock,open,"));
  CHECK(has(ran.out, ",cell_03,3.4"));
  const auto listed = bench.run("stimulus try.capture list");
  CHECK(has(listed.out, "pack_current"));
}

TEST_CASE("a rehearsal says where it needs words, and writes over no capture") {
  BenchFolder bench;
  put(bench.folder / "old.capture", "precious");
  const auto refused = [&](const std::string& words, const std::string& message) {
    const auto ran = bench.run("demo --obey " + words);
    CAPTURE(words);
    CAPTURE(ran.err);
    CHECK(ran.status == 2);
    CHECK(has(ran.err, message));
  };
  refused("", "--obey: say which capture's walk");
  refused("old.capture", "old.capture");
  refused("new.capture --transmit no_such_can", "no_such_can");
  CHECK(get(bench.folder / "old.capture") == "precious");
}

}  // namespace foundling
