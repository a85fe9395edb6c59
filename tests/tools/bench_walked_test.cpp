// A drawn plan walked through by a script while an invented board answers: what the walk leaves in
// the capture is what `correlate` and `bench next` go by. And a recorder that is started anew in
// the midst of a walk.
#include <doctest/doctest.h>

#include <atomic>
#include <chrono>
#include <cmath>
#include <map>
#include <thread>

#include "daemon/capture_sink.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/capture/session_clock.h"
#include "tests/tools/bench_files.h"
#include "tests/tools/terminal_session.h"

namespace foundling {
namespace {

constexpr const char* head = R"(foundling plan 1
hold 0.3 s
channel pack_current A
  limits -60..60 A
  settle 0.1 s
channel pack_voltage V
  limits 70..102 V
  rest 90 V
  settle 0.1 s
)";

constexpr const char* three_steps = R"(
step 1
  set pack_current = 20 A
step 2
  set pack_current = -40 A
step 3
  set pack_voltage = 95 V
)";

struct Recorder {
  SessionInfo info;
  std::unique_ptr<CaptureSink> sink;

  explicit Recorder(const std::filesystem::path& capture, FilePolicy policy = {}) {
    start_session_clock(info);
    sink = must(CaptureSink::open(capture, policy, info));
    frame(0, 0);
  }
  // 1A4: current and voltage in tenths.
  void frame(double amps, double volts) {
    RecordBatch batch;
    batch.frames.resize(1);
    Frame& frame = batch.frames.front();
    frame.t_ns = boottime_now_ns() - info.started_boot_ns;
    frame.id = CanId::standard(0x1A4);
    frame.length = 4;
    const auto put16 = [&](std::size_t at, double value) {
      const auto raw = static_cast<std::uint16_t>(std::lround(value * 10));
      frame.payload[at] = static_cast<std::uint8_t>(raw >> 8U);
      frame.payload[at + 1] = static_cast<std::uint8_t>(raw & 0xFFU);
    };
    put16(0, amps);
    put16(2, volts);
    must(sink->store(batch));
  }
};

// Sends what was last written down, every 20 ms, until it is destroyed.
class Board {
 public:
  Board(Recorder& recorder, std::filesystem::path capture)
      : thread_([this, &recorder, capture = std::move(capture)] {
          auto reader = must(CaptureReader::open(capture));
          while (!stop_) {
            std::map<std::string, double> now{{"pack_voltage", 90}};
            for (const StoredReading& one : must(reader.readings(1))) {
              now[one.channel.name] = one.reading.value;
            }
            recorder.frame(now["pack_current"], now["pack_voltage"]);
            std::this_thread::sleep_for(std::chrono::milliseconds(20));
          }
        }) {}
  ~Board() {
    stop_ = true;
    thread_.join();
  }
  Board(const Board&) = delete;
  Board& operator=(const Board&) = delete;

 private:
  std::atomic<bool> stop_{false};
  std::thread thread_;
};

std::int64_t plan_mark_of(const std::filesystem::path& capture) {
  auto reader = must(CaptureReader::open(capture));
  for (const StoredMark& one : must(reader.marks(1))) {
    if (one.mark.kind == "plan" && one.superseded_by == 0) return one.id;
  }
  return 0;
}

// "pack_current=-39.9@0": valid readings of a session by channel, those from its start marked.
std::string readings(const std::filesystem::path& file, std::int64_t session) {
  auto reader = must(CaptureReader::open(file));
  std::string text;
  for (const StoredReading& one : must(reader.readings(session))) {
    if (one.superseded_by != 0) continue;
    char value[60];
    std::snprintf(value, sizeof value, "%s%s=%g%s", text.empty() ? "" : " ",
                  one.channel.name.c_str(), one.reading.value, one.reading.t_ns == 0 ? "@0" : "");
    text += value;
  }
  return text;
}

// Up to the prompt of step 2, with 19.9 A typed for step 1.
void walk_to_step_2(TerminalSession& person) {
  REQUIRE(person.shows("Type yes to go on:"));
  person.type("yes\r");
  REQUIRE(person.shows("Press Enter when done:"));
  person.type("\r");
  REQUIRE(person.shows("Enter when set"));
  person.type("19.9\r");
  REQUIRE(person.shows("set pack_current = -40 A"));
  REQUIRE(person.shows("Enter when set"));
}

void walk_on_from_step_2(TerminalSession& person) {
  REQUIRE(person.shows("Going on with step 2."));
  REQUIRE(person.shows("Enter when set"));
  person.type("\r");
  REQUIRE(person.shows("set pack_voltage = 95 V"));
  REQUIRE(person.shows("Enter when set"));
  person.type("\r");
  REQUIRE(person.shows("Press Enter when done:"));
  person.type("\r");
  CHECK(person.shows("Done."));
  CHECK(person.status() == 0);
}

}  // namespace

TEST_CASE("a drawn plan is walked through, and the search draws it anew from the capture") {
  const BenchFolder bench;
  put(bench.folder / "h.bench", head);
  REQUIRE(bench.run("bench plan h.bench --seed 7 --into p.plan").status == 0);
  put(bench.folder / "run.script", "yes\n" + std::string(500, '\n'));
  {
    Recorder recorder(bench.folder / "a.capture");
    const Board board(recorder, bench.folder / "a.capture");
    const auto walked = bench.run("bench run p.plan a.capture --script run.script");
    REQUIRE_MESSAGE(walked.status == 0, walked.err);
  }
  const auto found = bench.run("correlate a.capture");
  CHECK(found.status == 0);
  CHECK_MESSAGE(has(found.out, "drawing the plan in the capture (seed 7) 199 times"),
                (found.out + found.err));
  CHECK(has(found.out, "pack_current"));
  CHECK(has(bench.run("bench next a.capture").err, "limits: those of the plan in the capture"));

  auto writer =
      must(CaptureWriter::open(bench.folder / "a.capture", std::chrono::milliseconds(5000)));
  std::string text = get(bench.folder / "p.plan");
  const auto tampered = [&](const std::string& words) {
    must(writer.supersede_mark(plan_mark_of(bench.folder / "a.capture"), words));
    return bench.run("correlate a.capture");
  };
  const auto seed = text.find("seed 7");
  REQUIRE(seed != std::string::npos);
  const auto other = tampered(std::string(text).replace(seed, 6, "seed 8"));
  CHECK(has(other.err, "the plan in the capture: the plan was edited after it was drawn"));
  CHECK(has(other.out, "permuting what was"));
  CHECK(has(bench.run("bench next a.capture").err,
            "foundling bench next: note: the plan in the capture: the plan was edited"));
  const auto no_plan = tampered("foundling plan 1\nstep x\n");
  CHECK(has(no_plan.err, "the capture's plan has errors"));
  CHECK(has(no_plan.out, "permuting what was"));
  must(writer.withdraw_mark(plan_mark_of(bench.folder / "a.capture")));
  const auto none = bench.run("correlate a.capture");
  CHECK(has(none.err, "a bench run left its steps in the capture, but its plan is not there"));
  CHECK(has(none.out, "permuting what was"));
}

TEST_CASE("after a pause the step is held whole again, and measured from then on") {
  const BenchFolder bench;
  put(bench.folder / "a.plan",
      "foundling plan 1\nchannel pack_current A\n  limits -60..60 A\n  settle 0 s\n"
      "step 1\n  set pack_current = 15 A\n  hold 4 s\n");
  const auto capture = bench.folder / "a.capture";
  const Recorder recorder(capture);
  auto instrument = must(CaptureWriter::open(capture, std::chrono::milliseconds(5000)));
  const auto amps = must(instrument.ensure_channel({"amps", "A", ChannelKind::sample}));
  const auto measure = [&](double value) {
    const std::int64_t now = boottime_now_ns() - recorder.info.started_boot_ns;
    must(instrument.add_reading(recorder.sink->session(), amps, {now, value, 0.1, ""}));
  };
  TerminalSession person(bench.folder.path(),
                         "bench run a.plan a.capture --measured-by pack_current=amps");
  REQUIRE(person.shows("Type yes to go on:"));
  person.type("yes\r");
  REQUIRE(person.shows("Press Enter when done:"));
  person.type("\r");
  REQUIRE(person.shows("Enter when set"));
  person.type("\r");
  REQUIRE(person.shows("hold"));
  measure(10);
  person.type("pause\r");
  REQUIRE(person.shows("Paused. Enter goes on:"));
  person.type("\r");
  REQUIRE(person.shows("hold"));
  measure(20);
  CHECK(person.shows("pack_current = 20 A ± 0.1 by amps, 1 readings"));
}

TEST_CASE("a recorder restarted while a step waits: the walk goes on in the new session") {
  const BenchFolder bench;
  put(bench.folder / "a.plan", std::string(head) + three_steps);
  auto recorder = std::make_unique<Recorder>(bench.folder / "a.capture");
  TerminalSession person(bench.folder.path(), "bench run a.plan a.capture");
  walk_to_step_2(person);
  recorder.reset();
  recorder = std::make_unique<Recorder>(bench.folder / "a.capture");
  REQUIRE(recorder->sink->session() == 2);
  person.type("\r");
  REQUIRE(person.shows("set pack_voltage = 95 V"));
  person.type("\r");
  REQUIRE(person.shows("Press Enter when done:"));
  person.type("\r");
  CHECK(person.shows("Done."));
  CHECK(person.status() == 0);
  CHECK(readings(bench.folder / "a.capture", 2) ==
        "pack_current=19.9@0 pack_current=-40 pack_current=0 pack_voltage=90@0 pack_voltage=95 "
        "pack_voltage=90");
  CHECK(has(bench.run("bench run a.plan a.capture </dev/null").out,
            "Every step of this plan is done or skipped"));
}

TEST_CASE("a recorder restarted while a step is held: a correction goes into both sessions") {
  for (const bool is_redone : {false, true}) {
    CAPTURE(is_redone);
    const BenchFolder bench;
    put(bench.folder / "a.plan", std::string(head) +
                                     "step 1\n  set pack_current = 20 A\n"
                                     "step 2\n  set pack_current = -40 A\n  hold 60 s\n");
    const auto capture = bench.folder / "a.capture";
    auto recorder = std::make_unique<Recorder>(capture);
    TerminalSession person(bench.folder.path(), "bench run a.plan a.capture");
    walk_to_step_2(person);
    person.type("\r");
    REQUIRE(person.shows("hold"));
    recorder.reset();
    recorder = std::make_unique<Recorder>(capture);
    REQUIRE(recorder->sink->session() == 2);
    const std::string before = "pack_current=0 pack_current=19.9 ";
    if (is_redone) {
      person.type("redo\r");
      REQUIRE(person.shows("Step 2 of 2"));
      CHECK(readings(capture, 1) == before + "pack_voltage=90");
      CHECK(readings(capture, 2) == "pack_voltage=90@0");
    } else {
      person.type("-39.9\r");
      REQUIRE(person.shows("pack_current = -39.9 A"));
      CHECK(readings(capture, 1) == before + "pack_current=-39.9 pack_voltage=90");
      CHECK(readings(capture, 2) == "pack_current=-39.9@0 pack_voltage=90@0");
    }
  }
}

TEST_CASE("a recorder restarted after the walk was killed: how the bench stands is asked") {
  for (const bool rolls : {false, true}) {
    CAPTURE(rolls);
    const BenchFolder bench;
    put(bench.folder / "a.plan", std::string(head) + three_steps);
    FilePolicy policy;
    if (rolls) policy.roll_after_ns = 3'600'000'000'000;
    auto recorder = std::make_unique<Recorder>(bench.folder / "a.capture", policy);
    {
      TerminalSession person(bench.folder.path(), "bench run a.plan a.capture");
      walk_to_step_2(person);
      person.kill_it();
    }
    recorder.reset();
    recorder = std::make_unique<Recorder>(bench.folder / "a.capture", policy);
    {
      TerminalSession person(bench.folder.path(), "bench run a.plan a.capture");
      REQUIRE(person.shows("Type yes to go on:"));
      person.type("yes\r");
      REQUIRE(person.shows("The recorder was restarted since."));
      REQUIRE(person.shows("pack_current = 19.9 A"));
      REQUIRE(person.shows("Press Enter when done:"));
      person.type("help\r");
      REQUIRE(person.shows("back: to the step before."));
      REQUIRE(person.shows("Press Enter when done:"));
      person.type("\r");
      walk_on_from_step_2(person);
    }
    CHECK(readings(recorder->sink->file(), recorder->sink->session()) ==
          "pack_current=19.9 pack_current=-40 pack_current=0 pack_voltage=90 pack_voltage=95 "
          "pack_voltage=90");
    // Once more on purpose: what was finished in an earlier session is begun again.
    recorder.reset();
    recorder = std::make_unique<Recorder>(bench.folder / "a.capture", policy);
    TerminalSession again(bench.folder.path(), "bench run a.plan a.capture");
    REQUIRE(again.shows("Type yes to go on:"));
    again.type("yes\r");
    CHECK(again.shows("Bring everything to rest first:"));
  }
}

TEST_CASE("a recorder restarted into another capture: --after names the one before") {
  const BenchFolder bench;
  put(bench.folder / "a.plan", std::string(head) + three_steps);
  auto recorder = std::make_unique<Recorder>(bench.folder / "a.capture");
  {
    TerminalSession person(bench.folder.path(), "bench run a.plan a.capture");
    walk_to_step_2(person);
    person.kill_it();
  }
  recorder.reset();
  recorder = std::make_unique<Recorder>(bench.folder / "b.capture");
  const auto missing = bench.run("bench run a.plan b.capture --after c.capture </dev/null");
  CHECK(missing.status == 2);
  CHECK(has(missing.err, "c.capture"));
  TerminalSession person(bench.folder.path(), "bench run a.plan b.capture --after a.capture");
  REQUIRE(person.shows("Type yes to go on:"));
  person.type("yes\r");
  REQUIRE(person.shows("The recorder was restarted since."));
  person.type("\r");
  walk_on_from_step_2(person);
}

}  // namespace foundling
