// `foundling bench run` and a hand that sets first and types later: what is written down says since
// when it may be true.
#include <doctest/doctest.h>

#include <chrono>
#include <map>
#include <thread>

#include "daemon/capture_sink.h"
#include "schemas/capture/session_clock.h"
#include "tests/tools/bench_files.h"
#include "tests/tools/terminal_session.h"

namespace foundling {
namespace {

constexpr const char* plan = R"(foundling plan 1
hold 0.2 s
channel pack_current A
  limits -60..60 A
  settle 0.1 s
channel interlock state
  words open closed
  settle 0.1 s
step 1
  set pack_current = 20 A
step 2
  set pack_current = -40 A
  set interlock = closed
)";

struct LateHand {
  BenchFolder bench;
  SessionInfo info;
  std::unique_ptr<CaptureSink> sink;
  std::filesystem::path capture = bench.folder / "a.capture";

  LateHand() {
    put(bench.folder / "a.plan", plan);
    start_session_clock(info);
    sink = must(CaptureSink::open(capture, {}, info));
    RecordBatch batch;
    batch.frames.resize(1);
    must(sink->store(batch));
  }
  [[nodiscard]] std::int64_t now_ns() const { return boottime_now_ns() - info.started_boot_ns; }
  // When something was set: some time after it was asked for, some time before it is typed.
  std::int64_t set_on_the_bench() const {
    std::this_thread::sleep_for(std::chrono::milliseconds(30));
    const std::int64_t changed = now_ns();
    std::this_thread::sleep_for(std::chrono::milliseconds(30));
    return changed;
  }
  // The valid readings in the order in which they were written down.
  [[nodiscard]] std::vector<StoredReading> written() const {
    auto reader = must(CaptureReader::open(capture));
    std::map<std::int64_t, StoredReading> by_number;
    for (const StoredReading& one : must(reader.readings(1))) {
      if (one.superseded_by == 0) by_number.emplace(one.id, one);
    }
    std::vector<StoredReading> all;
    for (const auto& [number, one] : by_number) all.push_back(one);
    return all;
  }
};

void agree(TerminalSession& person) {
  REQUIRE(person.shows("Type yes to go on:"));
  person.type("yes\r");
}

// What a person is told before being asked; the prompt itself is drawn again as keys come in.
constexpr const char* first_rest = "Bring everything to rest first:";
constexpr const char* last_rest = "Bring everything back to rest:";
constexpr const char* step_1 = "set pack_current = 20 A";
constexpr const char* step_2 = "set pack_current = -40 A";
constexpr const char* step_2_lock = "set interlock = closed";

void ask(TerminalSession& person, const char* told) {
  REQUIRE(person.shows(told));
  REQUIRE(person.shows("Enter when"));
}

// Told, set some time after, Enter.
std::int64_t answer(LateHand& hand, TerminalSession& person, const char* told,
                    const char* typed = "\r") {
  ask(person, told);
  const std::int64_t changed = hand.set_on_the_bench();
  person.type(typed);
  return changed;
}

bool holds(const Reading& reading, std::int64_t changed) {
  return reading.earliest_ns != Reading::no_time && reading.earliest_ns <= changed &&
         changed <= reading.t_ns;
}

TEST_CASE("what is typed late says since when it was asked for") {
  LateHand hand;
  TerminalSession person(hand.bench.folder.path(), "bench run a.plan a.capture");
  agree(person);
  const auto rest = answer(hand, person, first_rest);
  const auto first = answer(hand, person, step_1, "19.9\r");
  const auto before_second = hand.now_ns();
  const auto second = answer(hand, person, step_2);
  const auto third = answer(hand, person, step_2_lock);
  answer(hand, person, last_rest);
  CHECK(person.shows("Done."));
  CHECK(person.status() == 0);
  const auto all = hand.written();
  REQUIRE(all.size() == 7);
  CHECK(holds(all[0].reading, rest));
  CHECK(holds(all[1].reading, rest));
  CHECK(holds(all[2].reading, first));
  CHECK(holds(all[3].reading, second));
  CHECK(holds(all[4].reading, third));
  // Not since for ever: each since it was asked for itself.
  CHECK(all[2].reading.earliest_ns > all[1].reading.t_ns);
  CHECK(all[3].reading.earliest_ns > before_second);
  CHECK(all[4].reading.earliest_ns > all[3].reading.t_ns);
}

TEST_CASE("a value that is refused, paused over or typed during the hold keeps its moment") {
  LateHand hand;
  std::string held = plan;
  held.insert(held.find("step 2"), "  hold 60 s\n");
  put(hand.bench.folder / "a.plan", held);
  TerminalSession person(hand.bench.folder.path(), "bench run a.plan a.capture");
  agree(person);
  answer(hand, person, first_rest);
  const auto changed = answer(hand, person, step_1, "99\r");
  REQUIRE(person.shows("lies beyond its limits"));
  person.type("pause\r");
  REQUIRE(person.shows("Paused. Enter goes on:"));
  person.type("\r");
  REQUIRE(person.shows("Enter when set"));
  person.type("\r");
  REQUIRE(person.shows("hold"));
  person.type("19.5\r");
  REQUIRE(person.shows("pack_current = 19.5 A"));
  CHECK(hand.written().back().reading.value == 19.5);
  CHECK(holds(hand.written().back().reading, changed));
  person.type("redo\r");
  REQUIRE(person.shows("Enter when set"));
  person.type("\r");
  REQUIRE(person.shows("hold"));
  CHECK(hand.written().back().reading.value == 20);
  CHECK(holds(hand.written().back().reading, changed));
}

TEST_CASE("a step that is done again was asked for when it was begun the first time") {
  LateHand hand;
  TerminalSession person(hand.bench.folder.path(), "bench run a.plan a.capture");
  agree(person);
  answer(hand, person, first_rest);
  answer(hand, person, step_1);
  const auto current = answer(hand, person, step_2);
  const auto lock = answer(hand, person, step_2_lock, "redo\r");
  REQUIRE(person.shows("Step 2 of 2"));
  ask(person, step_2);
  person.type("\r");
  ask(person, step_2_lock);
  person.type("\r");
  ask(person, last_rest);
  const auto all = hand.written();
  REQUIRE(all.size() == 5);
  CHECK(holds(all[3].reading, current));
  CHECK(holds(all[4].reading, lock));
}

TEST_CASE("what was set before the walk was killed was asked for then") {
  LateHand hand;
  {
    TerminalSession person(hand.bench.folder.path(), "bench run a.plan a.capture");
    agree(person);
    ask(person, first_rest);
    hand.set_on_the_bench();
    person.kill_it();
  }
  const auto rest = hand.now_ns() - 30'000'000;
  std::int64_t changed = 0;
  {
    TerminalSession person(hand.bench.folder.path(), "bench run a.plan a.capture");
    agree(person);
    answer(hand, person, first_rest);
    ask(person, step_1);
    changed = hand.set_on_the_bench();
    person.kill_it();
  }
  TerminalSession person(hand.bench.folder.path(), "bench run a.plan a.capture");
  agree(person);
  answer(hand, person, step_1);
  const auto next = answer(hand, person, step_2);
  ask(person, step_2_lock);
  const auto all = hand.written();
  REQUIRE(all.size() == 4);
  CHECK(holds(all[0].reading, rest));
  CHECK(holds(all[2].reading, changed));
  CHECK(holds(all[3].reading, next));
  CHECK(all[3].reading.earliest_ns > all[2].reading.t_ns);
}

TEST_CASE("a step that was skipped leaves no moment behind") {
  LateHand hand;
  TerminalSession person(hand.bench.folder.path(), "bench run a.plan a.capture");
  agree(person);
  answer(hand, person, first_rest);
  const auto skipped = answer(hand, person, step_1, "skip\r");
  answer(hand, person, step_2);
  ask(person, step_2_lock);
  const auto all = hand.written();
  REQUIRE(all.size() == 3);
  CHECK(all[2].reading.earliest_ns > skipped);
}

}  // namespace
}  // namespace foundling
