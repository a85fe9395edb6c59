// `foundling bench run` in a real pseudo-terminal, into a recording that goes on in new files; and
// killed in the midst of a step.
#include <doctest/doctest.h>

#include <map>

#include "daemon/capture_sink.h"
#include "schemas/capture/session_clock.h"
#include "tests/tools/bench_files.h"
#include "tests/tools/terminal_session.h"

namespace foundling {
namespace {

constexpr const char* plan = R"(foundling plan 1
hold 0.3 s
channel pack_current A
  limits -60..60 A
  settle 0.1 s
channel pack_voltage V
  limits 70..102 V
  rest 90 V
  settle 0.1 s
step 1
  set pack_current = 20 A
step 2
  set pack_current = -40 A
  hold 20 s
step 3
  set pack_voltage = 95 V
)";

struct Recording : BenchFolder {
  SessionInfo info;
  std::unique_ptr<CaptureSink> sink;

  Recording() {
    put(folder / "a.plan", plan);
    start("a.capture");
  }
  // A recorder, after the one before has ended.
  void start(const std::string& capture) {
    sink.reset();
    info = {};
    start_session_clock(info);
    FilePolicy policy;
    policy.roll_bytes = 1;  // whenever there are frames in the file
    sink = must(CaptureSink::open(folder / capture, policy, info));
    frame();
  }
  void frame() {
    RecordBatch batch;
    batch.frames.resize(1);
    batch.frames.front().t_ns = boottime_now_ns() - info.started_boot_ns;
    must(sink->store(batch));
  }
  void roll() {
    const auto before = sink->file();
    frame();
    REQUIRE(sink->file() != before);
  }
};

// "pack_current=-39.9@before": valid readings by channel, and whether they were there when the file
// began.
std::string readings(const std::filesystem::path& file) {
  auto reader = must(CaptureReader::open(file));
  std::string text;
  for (const StoredReading& one : must(reader.readings(1))) {
    if (one.superseded_by != 0) continue;
    char value[40];
    std::snprintf(value, sizeof value, "%g", one.reading.value);
    text += (text.empty() ? "" : " ") + one.channel.name + '=' + value +
            (one.reading.t_ns <= 0 ? "@before" : "");
  }
  return text;
}

std::map<std::string, int> marks(const std::filesystem::path& file) {
  auto reader = must(CaptureReader::open(file));
  std::map<std::string, int> count;
  for (const StoredMark& one : must(reader.marks(1))) {
    ++count[one.mark.kind == "plan" ? "plan" : one.mark.text];
  }
  return count;
}

}  // namespace

TEST_CASE(
    "killed in a step whose recording rolled over, it goes on with that step in the new file") {
  Recording bench;
  const auto first = bench.sink->file();
  {
    TerminalSession person(bench.folder.path(), "bench run a.plan a.capture");
    REQUIRE(person.shows("kill and burn"));
    REQUIRE(person.shows("Type yes to go on:"));
    person.type("yes\r");
    REQUIRE(person.shows("Press Enter when done:"));
    person.type("\r");
    REQUIRE(person.shows("set pack_current = 20 A"));
    REQUIRE(person.shows("Enter when set"));
    person.type("19.9x\x7f\r");  // a slip of the finger, taken back
    REQUIRE(person.shows("set pack_current = -40 A"));
    REQUIRE(person.shows("Enter when set"));
    person.type("\r");
    REQUIRE(person.shows("hold"));
    bench.roll();
    person.type("-39.9\r");  // what the meter shows, once the file is another
    REQUIRE(person.shows("pack_current = -39.9 A"));
    person.kill_it();
  }
  const auto second = bench.sink->file();
  CHECK(readings(first) == "pack_current=0 pack_current=19.9 pack_current=-39.9 pack_voltage=90");
  // What still held was carried over, and was corrected there as well.
  CHECK(readings(second) == "pack_current=-39.9@before pack_voltage=90@before");
  CHECK(marks(second)["plan"] == 1);
  CHECK(marks(second)["1 done"] == 1);
  CHECK(marks(second)["2 done"] == 0);
  bench.roll();
  bench.roll();  // twice while nobody is there
  const auto last = bench.sink->file();
  TerminalSession person(bench.folder.path(), "bench run a.plan a.capture");
  REQUIRE(person.shows("Type yes to go on:"));
  person.type("yes\r");
  REQUIRE(person.shows("Going on with step 2."));
  person.type("skip\r");
  REQUIRE(person.shows("set pack_voltage = 95 V"));
  REQUIRE(person.shows("Enter when set"));
  person.type("\r");
  REQUIRE(person.shows("Press Enter when done:"));
  person.type("\r");
  CHECK(person.shows("Done."));
  CHECK(person.status() == 0);
  CHECK(readings(last) ==
        "pack_current=-39.9@before pack_current=0 pack_voltage=90@before pack_voltage=95 "
        "pack_voltage=90");
  CHECK(marks(last)["plan"] == 1);
  CHECK(marks(last)["2 skipped"] == 1);
  CHECK(marks(last)["3 done"] == 1);
  CHECK(marks(last)["finished"] == 1);
  CHECK(has(bench.run("bench run a.plan a.capture </dev/null").out,
            "Every step of this plan is done or skipped"));
}

TEST_CASE("a value typed in a later step of the new file leaves what held when it began") {
  Recording bench;
  const auto first = bench.sink->file();
  TerminalSession person(bench.folder.path(), "bench run a.plan a.capture");
  REQUIRE(person.shows("Type yes to go on:"));
  person.type("yes\r");
  REQUIRE(person.shows("Press Enter when done:"));
  person.type("\r");
  REQUIRE(person.shows("Enter when set"));
  person.type("19.9\r");
  REQUIRE(person.shows("set pack_current = -40 A"));
  REQUIRE(person.shows("Enter when set"));
  bench.roll();
  const auto second = bench.sink->file();
  person.type("\r");
  REQUIRE(person.shows("hold"));
  person.type("-39.8\r");
  REQUIRE(person.shows("pack_current = -39.8 A"));
  person.type("-39.9\r");
  REQUIRE(person.shows("pack_current = -39.9 A"));
  CHECK(readings(first) == "pack_current=0 pack_current=19.9 pack_voltage=90");
  CHECK(readings(second) == "pack_current=19.9@before pack_current=-39.9 pack_voltage=90@before");
  person.type("redo\r");
  REQUIRE(person.shows("Step 2 of 3"));
  CHECK(readings(second) == "pack_current=19.9@before pack_voltage=90@before");
}

TEST_CASE("rolled over twice after it was killed, and started anew: it is found and gone on with") {
  for (const std::string capture : {"a.capture", "b.capture"}) {
    CAPTURE(capture);
    Recording bench;
    {
      TerminalSession person(bench.folder.path(), "bench run a.plan a.capture");
      REQUIRE(person.shows("Type yes to go on:"));
      person.type("yes\r");
      REQUIRE(person.shows("Press Enter when done:"));
      person.type("\r");
      REQUIRE(person.shows("Enter when set"));
      person.type("19.9\r");
      REQUIRE(person.shows("set pack_current = -40 A"));
      REQUIRE(person.shows("Enter when set"));
      person.kill_it();
    }
    bench.roll();
    bench.roll();
    bench.start(capture);
    TerminalSession person(
        bench.folder.path(),
        "bench run a.plan " + capture + (capture == "a.capture" ? "" : " --after a.capture"));
    REQUIRE(person.shows("Type yes to go on:"));
    person.type("yes\r");
    REQUIRE(person.shows("The recorder was restarted since."));
    REQUIRE(person.shows("pack_current = 19.9 A"));
    REQUIRE(person.shows("Press Enter when done:"));
    person.type("\r");
    REQUIRE(person.shows("Going on with step 2."));
  }
}

TEST_CASE("a hang-up of the terminal ends it, and the same command goes on with that step") {
  Recording bench;
  {
    TerminalSession person(bench.folder.path(), "bench run a.plan a.capture");
    REQUIRE(person.shows("Type yes"));
    person.type("yes\r\r");
    REQUIRE(person.shows("Step 1 of 3"));
  }
  const auto ran = bench.run("bench run a.plan a.capture --script /dev/null");
  CHECK(ran.status == 2);
  TerminalSession again(bench.folder.path(), "bench run a.plan a.capture");
  REQUIRE(again.shows("Type yes"));
  again.type("yes\r");
  CHECK(again.shows("Step 1 of 3"));
  again.type("quit\r");
  CHECK(again.shows("Left."));
  CHECK(again.status() == 0);
}

}  // namespace foundling
