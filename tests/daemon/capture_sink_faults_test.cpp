// Lets every single call of the capture's that changes a file fail, one after the other, and
// several in a row, as in https://www.sqlite.org/testing.html, "I/O Error Testing". Whatever fails,
// each frame that was handed over is in the capture once, and the file is whole.
#include <doctest/doctest.h>
#include <spdlog/spdlog.h>

#include <algorithm>

#include "daemon/capture_sink.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/session_clock.h"
#include "tests/daemon/failing_disk.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"
#include "tests/system/whole_file.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;
constexpr std::int64_t millisecond = 1'000'000;
constexpr int batches = 5;
constexpr int frames_a_batch = 40;
constexpr std::uint64_t lost_a_batch = 3;

// Numbered in the identifier.
RecordBatch batch(int number) {
  RecordBatch made;
  for (int i = 0; i < frames_a_batch; ++i) {
    Frame frame;
    const int n = number * frames_a_batch + i;
    frame.t_ns = n * millisecond;
    frame.id = CanId::standard(static_cast<std::uint32_t>(n));
    frame.length = 8;
    made.frames.push_back(frame);
  }
  made.gaps.push_back({made.frames.back().t_ns, made.frames.back().t_ns, 0, lost_a_batch, "test"});
  return made;
}

// As the writing thread does: the batch that failed comes again before any other.
void store_in_the_end(CaptureSink& sink, const RecordBatch& stored) {
  for (int tries = 0; !sink.store(stored); ++tries) {
    REQUIRE(tries < 50);
    if (tries == 20) FailingDisk::heal();
  }
}

struct Found {
  std::vector<std::uint32_t> numbers;
  std::uint64_t lost = 0;
};

void add(const fs::path& file, Found& found) {
  CHECK(guest::is_whole(file.c_str()));
  auto reader = must(CaptureReader::open(file));
  for (const SessionRow& session : must(reader.sessions())) {
    must(reader.for_each_frame(session.id, time_from_start, time_to_end, [&](const Frame& frame) {
      found.numbers.push_back(frame.id.number());
      return true;
    }));
    for (const Gap& gap : must(reader.gaps(session.id))) found.lost += gap.frames_lost;
  }
}

struct Case {
  FilePolicy policy;
  int in_a_row;
  FailingDisk::Fault fault;
};

// Whether any call failed: the first that may was not beyond the last one made.
bool survives(const Case& tried, int first) {
  const ScratchFolder folder;
  SessionInfo info;
  start_session_clock(info);
  auto sink = must(CaptureSink::open(folder / "tractor.capture", tried.policy, info));
  FailingDisk::fail(first, tried.in_a_row, tried.fault);
  for (int i = 0; i < batches; ++i) store_in_the_end(*sink, batch(i));
  const bool failed = FailingDisk::failures() > 0;
  FailingDisk::heal();
  must(sink->finish(batches * frames_a_batch * millisecond));
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(folder.path())) {
    if (entry.path().extension() == ".capture" && !entry.is_symlink()) {
      files.push_back(entry.path());
    }
  }
  std::ranges::sort(files);
  Found found;
  for (const fs::path& file : files) add(file, found);
  std::vector<std::uint32_t> all(batches * frames_a_batch);
  for (std::uint32_t n = 0; n < all.size(); ++n) all[n] = n;
  CHECK(found.numbers == all);
  CHECK(found.lost == batches * lost_a_batch);
  return failed;
}

void try_every_call(const FilePolicy& policy, std::initializer_list<int> failures_in_a_row) {
  const FailingDisk disk;
  const auto level = spdlog::get_level();
  spdlog::set_level(spdlog::level::off);  // thousands of messages that are meant to be
  for (const int in_a_row : failures_in_a_row) {
    for (const auto fault : {FailingDisk::Fault::undone, FailingDisk::Fault::done}) {
      int first = 1;
      do {
        CAPTURE(in_a_row);
        CAPTURE(first);
        CAPTURE(fault == FailingDisk::Fault::done);
        if (!survives({policy, in_a_row, fault}, first)) break;
      } while (++first < 1000);
      CHECK(first > 10);
    }
  }
  spdlog::set_level(level);
}

}  // namespace

TEST_CASE("whatever write or sync fails, each frame is stored once and the file is whole") {
  try_every_call({}, {1, 2, 30});
}

TEST_CASE("the same while the recording rolls over to new files") {
  FilePolicy policy;
  policy.roll_after_ns = 2 * frames_a_batch * millisecond;
  try_every_call(policy, {2});
}

}  // namespace foundling
