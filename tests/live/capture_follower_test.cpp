// Following a recording that the recorder's own storing part makes.
#include "tools/live/capture_follower.h"

#include <doctest/doctest.h>
#include <sqlite3.h>

#include <algorithm>
#include <chrono>
#include <thread>

#include "tests/live/running_board.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;
using Start = CaptureFollower::Start;

struct Followed {
  std::vector<int> numbers;
  std::vector<std::int64_t> times;
  std::vector<std::string> news;
};

// Until nothing came for half a second (sessions and files are looked for every 0.2 s).
void drain(CaptureFollower& follower, Followed& into) {
  for (int quiet = 0; quiet < 10;) {
    const auto frames = follower.next();
    REQUIRE(frames);
    for (const Frame& frame : *frames) {
      into.numbers.push_back(frame.payload[0] + 256 * frame.payload[1]);
      into.times.push_back(frame.t_ns);
    }
    for (std::string& text : follower.news()) into.news.push_back(std::move(text));
    quiet = frames->empty() ? quiet + 1 : 0;
    if (frames->empty()) std::this_thread::sleep_for(std::chrono::milliseconds(50));
  }
}

void check_all_in_order(const Followed& followed, int count) {
  REQUIRE(followed.numbers.size() == static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) REQUIRE(followed.numbers[static_cast<std::size_t>(i)] == i);
  CHECK(std::is_sorted(followed.times.begin(), followed.times.end()));
}

}  // namespace

TEST_CASE("what comes is given once and in order; what was there before only when asked for") {
  const ScratchFolder folder;
  RunningBoard board(folder / "a.capture");
  board.store(100);
  auto all = must(CaptureFollower::open(folder / "a.capture", Start::with_what_is_stored));
  auto coming = must(CaptureFollower::open(folder / "a.capture", Start::with_what_comes));
  Followed everything;
  Followed new_ones;
  drain(all, everything);
  drain(coming, new_ones);
  CHECK(everything.numbers.size() == 100);
  CHECK(new_ones.numbers.empty());
  board.store(20'000);  // more than one step
  drain(all, everything);
  drain(coming, new_ones);
  check_all_in_order(everything, 20'100);
  REQUIRE(new_ones.numbers.size() == 20'000);
  CHECK(new_ones.numbers.front() == 100);
  CHECK(everything.news.empty());
}

TEST_CASE("a restarted recorder's session is gone on with, on the same time line") {
  const ScratchFolder folder;
  auto board = std::make_unique<RunningBoard>(folder / "a.capture");
  board->store(100);
  auto follower = must(CaptureFollower::open(folder / "a.capture", Start::with_what_is_stored));
  Followed followed;
  drain(follower, followed);
  board->stop();
  board = std::make_unique<RunningBoard>(folder / "a.capture");
  board->number = 100;
  board->store(100);
  drain(follower, followed);
  check_all_in_order(followed, 200);
  REQUIRE(followed.news.size() == 1);
  CHECK(followed.news[0] == "the recording goes on in session 2");
  // The second session began later by the boot clock than the first.
  CHECK(followed.times[100] > 0);
  CHECK(follower.utc_ns(followed.times[100]) > follower.utc_ns(0));
}

TEST_CASE("rolled files are gone through one after the other, none left out") {
  const ScratchFolder folder;
  FilePolicy policy;
  policy.roll_after_ns = 1'000'000'000;
  RunningBoard board(folder / "a.capture", policy);
  board.store(500);
  auto follower = must(CaptureFollower::open(folder / "a.capture", Start::with_what_is_stored));
  Followed followed;
  drain(follower, followed);
  for (int i = 0; i < 8; ++i) board.store(500);  // three files further, while nobody looks
  drain(follower, followed);
  board.store(500);
  board.stop();
  drain(follower, followed);
  check_all_in_order(followed, 5000);
  CHECK(followed.news.size() >= 3);
  CHECK(fs::is_symlink(folder / "a.capture"));
  for (std::size_t i = 1; i < followed.times.size(); ++i) {
    REQUIRE(followed.times[i] - followed.times[i - 1] == 1'000'000);
  }
}

TEST_CASE("a capture that is removed and made anew is gone on with") {
  const ScratchFolder folder;
  auto board = std::make_unique<RunningBoard>(folder / "a.capture");
  board->store(10);
  auto follower = must(CaptureFollower::open(folder / "a.capture", Start::with_what_is_stored));
  Followed followed;
  drain(follower, followed);
  board->stop();
  board.reset();
  for (const char* end : {"", "-wal", "-shm"})
    fs::remove(folder / (std::string("a.capture") + end));
  drain(follower, followed);  // away
  RunningBoard another(folder / "a.capture");
  another.number = 10;
  another.store(10);
  drain(follower, followed);
  check_all_in_order(followed, 20);
  REQUIRE(followed.news.size() == 1);
  CHECK(followed.news[0].find("is another file now") != std::string::npos);
}

TEST_CASE("between two steps the recorder's log can be folded in wholly") {
  const ScratchFolder folder;
  RunningBoard board(folder / "a.capture");
  board.store(20'000);
  auto follower = must(CaptureFollower::open(folder / "a.capture", Start::with_what_is_stored));
  const auto frames = follower.next();  // in the midst of them
  REQUIRE(frames);
  CHECK(frames->size() < 20'000);
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open((folder / "a.capture").c_str(), &database) == SQLITE_OK);
  // A connection knows of the log only once it has read.
  REQUIRE(sqlite3_exec(database, "SELECT count(*) FROM session", nullptr, nullptr, nullptr) ==
          SQLITE_OK);
  // TRUNCATE succeeds only where no reader needs the log any more
  // (sqlite.org/c3ref/wal_checkpoint_v2).
  CHECK(sqlite3_wal_checkpoint_v2(database, nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr,
                                  nullptr) == SQLITE_OK);
  CHECK(fs::file_size(folder / "a.capture-wal") == 0);
  sqlite3_close(database);
}

}  // namespace foundling
