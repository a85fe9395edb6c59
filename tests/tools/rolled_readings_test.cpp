// Readings and marks that are written just when the recording goes on in a new file.
#include <doctest/doctest.h>

#include <atomic>
#include <chrono>
#include <cstdlib>
#include <thread>
#include <utility>
#include <vector>

#include "daemon/capture_sink.h"
#include "schemas/capture/session_clock.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"
#include "tools/one_transaction.h"
#include "tools/stimulus_session.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;
using namespace std::chrono_literals;

struct Recorded {
  CaptureWriter writer;
  SessionInfo info;
  std::int64_t session;
};

Recorded record(const fs::path& file) {
  auto writer = must(CaptureWriter::create(file));
  must(writer.lock_for_recording());
  SessionInfo info;
  start_session_clock(info);
  const auto session = must(writer.begin_session(info));
  return {std::move(writer), info, session};
}

// Types while the recorder has the first file to itself, which it then ends for a second one.
struct Typed {
  ScratchFolder folder;
  int status = -1;
  std::int64_t rolled_ns = 0, started_ns = 0;  // CLOCK_BOOTTIME

  explicit Typed(const std::string& words) {
    auto first = record(folder / "a-000001.capture");
    const fs::path name = folder / "a.capture";
    fs::create_symlink("a-000001.capture", name);
    must(first.writer.begin());
    std::thread person([&] {
      const std::string line =
          "'" FOUNDLING_PROGRAM "' stimulus '" + name.string() + "' " + words + " 2>/dev/null";
      status = WEXITSTATUS(std::system(line.c_str()));
    });
    std::this_thread::sleep_for(500ms);
    rolled_ns = boottime_now_ns();
    auto second = record(folder / "a-000002.capture");
    started_ns = second.info.started_boot_ns;
    fs::create_symlink("a-000002.capture", folder / "fresh");
    fs::rename(folder / "fresh", name);
    must(first.writer.end_session(first.session, rolled_ns - first.info.started_boot_ns));
    must(first.writer.commit());
    must(first.writer.close());
    person.join();
  }
  [[nodiscard]] CaptureReader file(int number) const {
    return must(CaptureReader::open(folder / ("a-00000" + std::to_string(number) + ".capture")));
  }
};

// What one channel of a file was set to at first and at last.
struct Ends {
  bool any = false;
  double first = 0, last = 0;
};

Ends ends_of(const fs::path& file, const std::string& channel) {
  Ends ends;
  auto reader = must(CaptureReader::open(file));
  for (const StoredReading& one : must(reader.readings(1))) {
    if (one.channel.name != channel) continue;
    if (!std::exchange(ends.any, true)) ends.first = one.reading.value;
    ends.last = one.reading.value;
  }
  return ends;
}

}  // namespace

TEST_CASE("a reading that had to wait until the file was ended goes into the next one") {
  const Typed typed("set pack_current 5 A");
  CHECK(typed.status == 0);
  CHECK(must(typed.file(1).readings(1)).empty());
  const auto readings = must(typed.file(2).readings(1));
  REQUIRE(readings.size() == 1);
  CHECK(readings[0].reading.value == 5);
  // True since it was typed, which was in the time of the first file.
  CHECK(readings[0].reading.t_ns + typed.started_ns < typed.rolled_ns);
}

TEST_CASE("a mark that had to wait until the file was ended goes into the next one") {
  const Typed typed("mark the fan was loud");
  CHECK(typed.status == 0);
  CHECK(must(typed.file(1).marks(1)).empty());
  const auto marks = must(typed.file(2).marks(1));
  REQUIRE(marks.size() == 1);
  CHECK(marks[0].mark.text == "the fan was loud");
}

TEST_CASE(
    "readings that never cease while the recording rolls over: each file begins with what the "
    "one before it ended with") {
  const ScratchFolder folder;
  const fs::path name = folder / "a.capture";
  SessionInfo info;
  start_session_clock(info);
  FilePolicy policy;
  policy.roll_bytes = 1;  // whenever there are frames in the file
  auto sink = must(CaptureSink::open(name, policy, info));
  std::vector<fs::path> files{sink->file()};
  std::atomic<bool> enough = false;
  std::vector<std::thread> people;
  for (const char* channel : {"pack_voltage", "coolant_temperature"}) {
    people.emplace_back([&, channel] {
      for (int value = 1; !enough; ++value) {
        const auto done = over_rolls(name, [&]() -> Result<void> {
          const fs::path file = behind(name);
          auto reader = CaptureReader::open(file);
          if (!reader) return reader.error();
          const auto session = stimulus_session(*reader, file, {});
          if (!session) return session.error();
          const auto now = recording_now_ns(*session, file);
          if (!now) return now.error();
          return in_running_session(file, session->id, [&](CaptureWriter& writer) -> Result<void> {
            const auto id = writer.ensure_channel({channel, "V", ChannelKind::hold});
            if (!id) return id.error();
            Reading reading;
            reading.t_ns = *now;
            reading.value = value;
            const auto made = writer.add_reading(session->id, *id, reading);
            if (!made) return made.error();
            return {};
          });
        });
        std::this_thread::sleep_for(5ms);  // the recorder would starve
        if (!done) --value;                // it rolled over thrice while this was at it
      }
    });
  }
  for (int i = 0; i < 8; ++i) {
    std::this_thread::sleep_for(50ms);
    RecordBatch batch;
    batch.frames.resize(1);
    batch.frames.front().t_ns = boottime_now_ns() - info.started_boot_ns;
    must(sink->store(batch));
    if (sink->file() != files.back()) files.push_back(sink->file());
  }
  enough = true;
  for (std::thread& person : people) person.join();
  must(sink->finish(boottime_now_ns() - info.started_boot_ns));
  REQUIRE(files.size() > 3);
  for (std::size_t i = 1; i < files.size(); ++i) {
    CAPTURE(i);
    for (const char* channel : {"pack_voltage", "coolant_temperature"}) {
      CAPTURE(std::string(channel));
      const Ends before = ends_of(files[i - 1], channel), after = ends_of(files[i], channel);
      if (before.any) CHECK(after.first == before.last);
    }
  }
}

}  // namespace foundling
