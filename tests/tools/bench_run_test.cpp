// `foundling bench run` as a person runs it, by a script, into a capture that a recorder (here:
// this test) has open.
#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <string>
#include <thread>

#include "schemas/capture/capture_writer.h"
#include "schemas/capture/session_clock.h"
#include "tests/scratch_folder.h"
#include "tests/tools/files.h"

namespace foundling {
namespace {

constexpr const char* plan = R"(foundling plan 1
note the supply's fuse is 80 A
hold 0.2 s

channel pack_current A
  limits -60..60 A
  settle 0.1 s

channel interlock state
  words closed open
  settle 0.1 s

step 1
  set pack_current = 20 A
  set interlock = open

step 2
  set pack_current = -40 A

step 3
  set pack_current = 55 A
)";

// yes, at rest, step 1's two settings, steps 2 and 3, at rest.
constexpr const char* all_enter = "yes\n\n\n\n\n\n\n";

struct Bench {
  ScratchFolder folder;
  CaptureWriter writer;
  std::int64_t session;

  Bench() : writer(must(CaptureWriter::create(folder / "a.capture"))), session(0) {
    must(writer.lock_for_recording());
    SessionInfo info;
    start_session_clock(info);
    session = must(writer.begin_session(info));
    put(folder / "a.plan", plan);
  }
  struct Ran {
    int status = -1;
    std::string out, err;
  };
  Ran run(const std::string& script, const std::string& options = "") {
    put(folder / "run.script", script);
    const std::string line = "cd '" + folder.path().string() +
                             "' && '" FOUNDLING_PROGRAM
                             "' bench run a.plan a.capture --script run.script " +
                             options + " >out.txt 2>err.txt";
    const int status = std::system(line.c_str());
    return {WEXITSTATUS(status), get(folder / "out.txt"), get(folder / "err.txt")};
  }
  // "pack_current=20 interlock=open": valid readings in order of time.
  std::string readings() {
    auto reader = must(CaptureReader::open(folder / "a.capture"));
    auto all = must(reader.readings(session));
    std::stable_sort(all.begin(), all.end(),
                     [](const auto& a, const auto& b) { return a.reading.t_ns < b.reading.t_ns; });
    std::string text;
    for (const StoredReading& one : all) {
      if (one.superseded_by != 0) continue;
      std::string value = one.reading.state;
      if (!one.channel.is_state()) {
        value = std::to_string(one.reading.value);
        value.erase(value.find_last_not_of('0') + 1);
        if (value.back() == '.') value.pop_back();
      }
      text += (text.empty() ? "" : " ") + one.channel.name + '=' + value;
    }
    return text;
  }
  std::string marks() {
    auto reader = must(CaptureReader::open(folder / "a.capture"));
    std::string text;
    for (const StoredMark& one : must(reader.marks(session))) {
      if (one.mark.kind != "plan") text += one.mark.text + '\n';
    }
    return text;
  }
};

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("a plan is walked from its cautions to rest, and all of it is recorded") {
  Bench bench;
  const auto ran = bench.run(all_enter);
  CHECK(ran.err.empty());
  CHECK(ran.status == 0);
  CHECK(has(ran.out, "kill and burn"));
  CHECK(has(ran.out, "stand-ins for cells isolated"));
  CHECK(has(ran.out, "The limits in this plan are yours"));
  CHECK(has(ran.out, "every value is set by your own hand"));
  CHECK(has(ran.out, "  the supply's fuse is 80 A"));
  CHECK(has(ran.out, "Step 1 of 3"));
  CHECK(has(ran.out, "  set pack_current = -40 A"));
  CHECK(bench.readings() ==
        "interlock=closed pack_current=0 pack_current=20 interlock=open pack_current=-40 "
        "pack_current=55 interlock=closed pack_current=0");
  CHECK(bench.marks() == "at rest\n1 begun\n1 done\n2 begun\n2 done\n3 begun\n3 done\nfinished\n");
  // The capture knows which plan it was.
  auto reader = must(CaptureReader::open(bench.folder / "a.capture"));
  CHECK(must(reader.marks(1)).at(0).mark.text == plan);
  CHECK(has(bench.run(all_enter).out, "Every step of this plan is done"));
}

TEST_CASE("nothing is recorded before the cautions are confirmed") {
  Bench bench;
  CHECK(bench.run("no\n").status == 0);
  const auto ran = bench.run("\n");
  CHECK(ran.status == 2);
  CHECK(has(ran.err, "run.script:1: error: expected yes, found \"\""));
  CHECK(bench.readings().empty());
  CHECK(bench.marks().empty());
}

TEST_CASE("what the meter shows is recorded in place of what was asked for") {
  Bench bench;
  const auto ran = bench.run("yes\n\n19.98\nopen\n-39950 mA\n\nhold: 54.9 A\n\n",
                             "--meter 'pack_current=0.05% + 2 digits'");
  CHECK(ran.err.empty());
  CHECK(bench.readings() ==
        "interlock=closed pack_current=0 pack_current=19.98 interlock=open pack_current=-39.95 "
        "pack_current=54.9 interlock=closed pack_current=0");
  auto reader = must(CaptureReader::open(bench.folder / "a.capture"));
  for (const StoredReading& one : must(reader.readings(1))) {
    // 0.05 % and two digits of 10 mA, rectangular (GUM 4.3.7).
    if (one.reading.value == 19.98) {
      CHECK(one.reading.uncertainty == doctest::Approx((0.00999 + 0.02) / std::sqrt(3.0)));
    }
    if (one.reading.value == 55) CHECK(one.superseded_by != 0);
  }
}

TEST_CASE("a shunt's millivolts are told, and taken") {
  Bench bench;
  const auto ran =
      bench.run("yes\n\n15.00mV\n\n\n\n\n", "--sensor 'pack_current=shunt 100 A / 75 mV'");
  CHECK(ran.err.empty());
  CHECK(has(ran.out, "  set pack_current = 20 A  (15 mV)"));
  CHECK(has(bench.readings(), "pack_current=20 "));
}

TEST_CASE("a value that cannot be is refused with its place, and nothing of it is written") {
  struct Refused {
    const char* typed;
    const char* why;
  };
  for (const Refused& one :
       {Refused{"61", "run.script:3: error: pack_current: 61 A lies beyond its limits, -60..60 A"},
        Refused{"20 V", "run.script:3: error: channel pack_current is in A, not in V"},
        Refused{"lots", "run.script:3: error: expected a number, found \"lots\""}}) {
    Bench bench;
    const auto ran = bench.run("yes\n\n" + std::string(one.typed) + "\n");
    CHECK(ran.status == 2);
    CHECK(has(ran.err, one.why));
    CHECK(bench.readings() == "interlock=closed pack_current=0");
  }
  Bench bench;
  const auto ran = bench.run("yes\n\n\nhalf\n");
  CHECK(has(ran.err,
            "run.script:4: error: interlock has no word \"half\"; expected one of closed, "
            "open"));
}

TEST_CASE("after a crash it goes on with the step that was not done") {
  Bench bench;
  const auto broken = bench.run("yes\n\n\n\n\n");  // ends where step 3 asks
  CHECK(broken.status == 2);
  CHECK(has(broken.err, "the script ends here"));
  const auto ran = bench.run("yes\n\n\n");
  CHECK(ran.err.empty());
  CHECK(ran.status == 0);
  CHECK(has(ran.out, "Going on with step 3."));
  CHECK_FALSE(has(ran.out, "Step 2 of 3"));
  CHECK(bench.readings() ==
        "interlock=closed pack_current=0 pack_current=20 interlock=open pack_current=-40 "
        "pack_current=55 interlock=closed pack_current=0");
}

TEST_CASE("back, skip, redo, pause, a note and quit") {
  Bench bench;
  // Step 1, then step 2 back to step 1 again, whose first value was a slip; step 2 skipped.
  const auto ran =
      bench.run("yes\n\n\n\nback\n2\nredo\n\nnote left clip off\npause\n\n\nskip\nquit\n");
  CHECK(ran.err.empty());
  CHECK(ran.status == 0);
  CHECK(has(ran.out, "go on with step 3"));
  CHECK(bench.readings() ==
        "interlock=closed pack_current=0 pack_current=20 interlock=open pack_current=20 "
        "interlock=open");
  CHECK(bench.marks() ==
        "at rest\n1 begun\n1 done\n2 begun\n2 open\n1 open\n1 begun\n1 open\n1 begun\n"
        "left clip off\npaused\nresumed\n1 done\n2 begun\n2 skipped\n3 begun\n");
  CHECK(bench.run("yes\n\n\n").status == 0);
  CHECK(has(bench.marks(), "3 done\nfinished\n"));
}

TEST_CASE("where no step is under way, only Enter, quit, help and notes are taken") {
  Bench bench;
  const auto ran = bench.run("yes\nhelp\nnote cold morning\nskip\n");
  CHECK(ran.status == 2);
  CHECK(has(ran.out, "Enter: done as said."));
  CHECK(has(ran.err, "run.script:4: error: skip: not here, only within a step"));
  CHECK(bench.marks() == "cold morning\n");
  const auto paused = bench.run("yes\n\npause\nnote lunch\nquit\n");
  CHECK(paused.status == 0);
  CHECK(has(paused.out, "go on with step 1"));
  CHECK(bench.marks() == "cold morning\nat rest\n1 begun\npaused\nlunch\n");
  CHECK(bench.run("yes\n\n\n\n\nquit\n").status == 0);  // all but to rest
  const auto ended = bench.run("yes\n\n");
  CHECK(ended.status == 0);
  CHECK_FALSE(has(ended.out, "Going on"));
  CHECK(has(ended.out, "Done."));
}

TEST_CASE("a value typed for a channel that its instrument records is read, and not written") {
  Bench bench;
  must(bench.writer.ensure_channel({"pack_current", "A", ChannelKind::sample}));
  CHECK(has(bench.run("yes\n\nlots\n").err,
            "run.script:3: error: expected a number, found \"lots\""));
  const auto ran = bench.run("yes\n19.98\n\n\nhold: -39.9\nquit\n");
  CHECK(ran.err.empty());
  const std::string told =
      "  pack_current is recorded by its instrument; the typed value was not written\n";
  const auto first = ran.out.find(told);
  REQUIRE(first != std::string::npos);
  CHECK(ran.out.find(told, first + 1) != std::string::npos);
  CHECK(bench.readings() == "interlock=closed interlock=open");
}

TEST_CASE("a plan that was edited meanwhile is not taken for the one that was begun") {
  Bench bench;
  bench.run("yes\n\nquit\n");
  std::string edited = plan;
  edited.replace(edited.find("55 A"), 4, "50 A");
  put(bench.folder / "a.plan", edited);
  const auto ran = bench.run(all_enter);
  CHECK(ran.status == 2);
  CHECK(has(ran.err, "this one was edited since; --anew begins this one from step 1"));
  CHECK(bench.run(all_enter, "--anew").status == 0);
  CHECK(has(bench.readings(), "pack_current=50 "));
}

TEST_CASE("a plan in contradiction with itself or with the capture is told with its place") {
  Bench bench;
  std::string edited = plan;
  edited.replace(edited.find("55 A"), 4, "99 A");
  put(bench.folder / "a.plan", edited);
  const auto beyond = bench.run(all_enter);
  CHECK(beyond.status == 2);
  CHECK(has(beyond.err, "a.plan:21:22: error: "));
  put(bench.folder / "a.plan", plan);
  must(bench.writer.ensure_channel({"pack_current", "V", ChannelKind::hold}));
  const auto other = bench.run(all_enter);
  CHECK(other.status == 2);
  CHECK(has(other.err, "a.plan:5:"));
  CHECK(has(other.err, "error: channel pack_current is in A, and the capture has it in V"));
  CHECK(bench.readings().empty());
  CHECK(bench.marks().empty());
}

TEST_CASE(
    "without a recorder, and with options for channels that are not there, it does not begin") {
  Bench bench;
  CHECK(has(bench.run(all_enter, "--meter 'pack_curent=1%'").err,
            "--meter: the plan has no channel \"pack_curent\""));
  CHECK(has(bench.run(all_enter, "--measured-by pack_current=amps").err,
            "the capture has no channel \"amps\""));
  must(bench.writer.end_session(bench.session, 5));
  const auto ran = bench.run(all_enter);
  CHECK(ran.status == 2);
  CHECK(has(ran.err, "session 1 has ended"));
}

TEST_CASE("an instrument fills in what it measured while the step was held") {
  Bench bench;
  const auto amps = must(bench.writer.ensure_channel({"amps", "mA", ChannelKind::sample}));
  std::atomic<bool> done = false;
  auto other = must(CaptureWriter::open(bench.folder / "a.capture", std::chrono::seconds(5)));
  auto reader = must(CaptureReader::open(bench.folder / "a.capture"));
  const auto started = must(reader.session({})).info.started_boot_ns;
  std::thread instrument([&] {
    for (int i = 0; !done; ++i) {
      must(
          other.add_reading(bench.session, amps,
                            {boottime_now_ns() - started, i % 2 == 0 ? 19900.0 : 20000.0, 30, ""}));
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
  });
  const auto ran = bench.run("yes\n\n\n\nquit\n", "--measured-by pack_current=amps");
  done = true;
  instrument.join();
  CHECK(ran.err.empty());
  CHECK(has(ran.out, " by amps, "));
  double value = 0, uncertainty = 0;
  for (const StoredReading& one : must(reader.readings(bench.session))) {
    if (one.channel.name != "pack_current" || one.superseded_by != 0) continue;
    value = one.reading.value;
    uncertainty = one.reading.uncertainty;
  }
  CHECK(value == doctest::Approx(19.95).epsilon(0.002));
  CHECK(uncertainty >= 0.03);  // the instrument's own does not average away
  CHECK(uncertainty < 0.06);
}

TEST_CASE("where a map knows the signal, the board's frames tell when it has settled") {
  Bench bench;
  put(bench.folder / "a.signals", R"(foundling signals 1

message 1A4 length 8
  signal pack_current
    bits 0.7..1.0 signed
    value = raw * 0.1 A
)");
  std::string one_step = plan;
  one_step.erase(one_step.find("step 2"));
  one_step.erase(one_step.find("  set interlock"), std::string("  set interlock = open\n").size());
  one_step.replace(one_step.find("hold 0.2 s"), 10, "hold 0.6 s");
  put(bench.folder / "a.plan", one_step);
  std::atomic<bool> done = false;
  auto reader = must(CaptureReader::open(bench.folder / "a.capture"));
  const auto started = must(reader.session({})).info.started_boot_ns;
  // Moves for a second from the first reading on, then stands still.
  std::thread board([&] {
    std::int64_t moved_ns = 0;
    for (int i = 0; !done; ++i) {
      const std::int64_t now = boottime_now_ns() - started;
      if (moved_ns == 0 && has(bench.readings(), "pack_current=20")) moved_ns = now;
      const bool moves = moved_ns != 0 && now - moved_ns < 1'000'000'000;
      Frame frame;
      frame.t_ns = now;
      frame.id = CanId::standard(0x1A4);
      frame.length = 8;
      frame.payload = {0, static_cast<std::uint8_t>(moves ? i % 2 * 100 : 200)};
      must(bench.writer.add_frames(bench.session, {&frame, 1}));
      std::this_thread::sleep_for(std::chrono::milliseconds(20));
    }
  });
  const auto before = std::chrono::steady_clock::now();
  const auto ran = bench.run("yes\n\n\n\n", "--map a.signals");
  const auto took = std::chrono::steady_clock::now() - before;
  done = true;
  board.join();
  CHECK(ran.err.empty());
  CHECK(has(ran.out, "  the board shows it settled"));
  CHECK(took > std::chrono::milliseconds(1300));  // a second of movement, and still for a while
}

}  // namespace foundling
