// `foundling bench run` in a terminal multiplexer, the simulated board on the recorder, and a hand
// that sets what it is told and types three seconds later: the moment of each change lies between
// the reading's two times.
#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <map>
#include <mutex>
#include <thread>

#include "daemon/capture_sink.h"
#include "schemas/capture/session_clock.h"
#include "tests/tools/bench_files.h"
#include "tests/tools/tmux_hand.h"
#include "tools/board/board.h"

namespace foundling {
namespace {

using board::Input;
using std::chrono::milliseconds;

constexpr const char* plan = R"(foundling plan 1
hold 1 s
channel pack_current A
  limits -60..60 A
  settle 0.3 s
channel pack_voltage V
  limits 70..102 V
  rest 90 V
  settle 0.3 s
channel interlock state
  words open closed
  rest closed
  settle 0.3 s
step 1
  set pack_current = 20 A
step 2
  set pack_current = -40 A
  set interlock = open
step 3
  set pack_voltage = 95 V
step 4
  set interlock = closed
)";

struct Told {
  const char* line;
  const char* typed;  // empty: Enter alone
  Input input;
  double value;
};
constexpr std::array<Told, 5> told{{{"set pack_current = 20 A", "19.98", Input::pack_current, 20},
                                    {"set pack_current = -40 A", "", Input::pack_current, -40},
                                    {"set interlock = open", "", Input::interlock, 0},
                                    {"set pack_voltage = 95 V", "94.9 V", Input::pack_voltage, 95},
                                    {"set interlock = closed", "", Input::interlock, 1}}};

// The board in real time into a capture, until it is destroyed.
class RecordedBoard {
 public:
  explicit RecordedBoard(const std::filesystem::path& capture) {
    start_session_clock(info_);
    sink_ = must(CaptureSink::open(capture, {}, info_));
    inputs_[Input::pack_voltage] = 90;
    inputs_[Input::supply_voltage] = 12.6;
    inputs_[Input::interlock] = 1;
    for (std::size_t i = 0; i < board::cell_count; ++i) inputs_.cell(i) = 3.3;
    thread_ = std::thread([this] { run(); });
  }
  ~RecordedBoard() {
    stop_ = true;
    thread_.join();
    (void)sink_->finish(now_ns());
  }
  RecordedBoard(const RecordedBoard&) = delete;
  RecordedBoard& operator=(const RecordedBoard&) = delete;

  [[nodiscard]] std::int64_t now_ns() const { return boottime_now_ns() - info_.started_boot_ns; }
  // When it was set.
  std::int64_t set(Input input, double value) {
    const std::lock_guard lock(mutex_);
    inputs_[input] = value;
    return now_ns();
  }

 private:
  void run() {
    board::Board board({});
    for (std::int64_t done_ns = 0; !stop_;) {
      RecordBatch batch;
      {
        const std::lock_guard lock(mutex_);
        for (const std::int64_t now = now_ns(); done_ns < now; done_ns += board::tick_ns) {
          board.tick(inputs_, batch.frames);
        }
      }
      must(sink_->store(batch));
      std::this_thread::sleep_for(milliseconds(20));
    }
  }

  SessionInfo info_;
  std::unique_ptr<CaptureSink> sink_;
  std::mutex mutex_;
  board::Inputs inputs_;
  std::atomic<bool> stop_{false};
  std::thread thread_;
};

// The valid readings of one channel in order of time.
std::vector<Reading> readings_of(const std::filesystem::path& capture, const std::string& channel) {
  auto reader = must(CaptureReader::open(capture));
  for (const ChannelSeries& series : must(reader.channel_series(1))) {
    if (series.channel.name == channel) return series.readings;
  }
  return {};
}

struct Change {
  std::int64_t t_ns;
  double value;
};

std::map<std::string, std::vector<Change>> walk(RecordedBoard& board, TmuxHand& hand) {
  constexpr milliseconds reaches{700}, types{3000};
  std::map<std::string, std::vector<Change>> changes;
  REQUIRE(hand.sees("Type yes to go on:", 1));
  hand.type("yes");
  REQUIRE(hand.sees("Press Enter when done:", 1));
  hand.type("");
  for (const Told& one : told) {
    REQUIRE_MESSAGE(hand.sees(one.line, 1), hand.shown());
    std::this_thread::sleep_for(reaches);
    const std::int64_t changed = board.set(one.input, one.value);
    std::this_thread::sleep_for(types);
    hand.type(one.typed);
    const std::string name = std::string(one.line).substr(4);
    changes[name.substr(0, name.find(' '))].push_back({changed, one.value});
  }
  REQUIRE(hand.sees("Press Enter when done:", 2));
  const std::int64_t rested = board.set(Input::pack_current, 0);
  board.set(Input::pack_voltage, 90);
  for (const char* const name : {"pack_current", "pack_voltage"}) {
    changes[name].push_back({rested, 0});
  }
  std::this_thread::sleep_for(types);
  hand.type("");
  REQUIRE(hand.sees("Done.", 1));
  return changes;
}

TEST_CASE("a hand that types three seconds late: every change lies within its reading's time") {
  const BenchFolder bench;
  put(bench.folder / "a.plan", plan);
  const auto capture = bench.folder / "a.capture";
  std::map<std::string, std::vector<Change>> changes;
  {
    RecordedBoard board(capture);
    // The pane stays when the program ends, so that its last words can be read.
    TmuxHand hand(bench.folder.path(),
                  "'" FOUNDLING_PROGRAM "' bench run a.plan a.capture; sleep 30");
    REQUIRE(hand.started());
    changes = walk(board, hand);
  }
  std::size_t held = 0;
  for (const auto& [name, all] : changes) {
    const auto& channel = name;
    const auto readings = readings_of(capture, channel);
    CAPTURE(channel);
    REQUIRE(readings.size() >= all.size() + 1);  // at rest first
    for (std::size_t i = 0; i < all.size(); ++i) {
      const Reading& reading = readings[i + 1];
      CAPTURE(i);
      CHECK(reading.earliest_ns != Reading::no_time);
      CHECK(reading.earliest_ns <= all[i].t_ns);
      CHECK(all[i].t_ns <= reading.t_ns);
      // As late as the hand, and no vaguer than it was slow.
      CHECK(reading.t_ns - all[i].t_ns >= 2'900'000'000);
      CHECK(reading.t_ns - reading.earliest_ns < 15'000'000'000);
      ++held;
    }
  }
  CHECK(held == told.size() + 2);
}

}  // namespace
}  // namespace foundling
