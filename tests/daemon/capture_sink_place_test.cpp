// What becomes of a capture's three files while it is recorded: moved, replaced, removed, one, two
// or all of them. Each frame that was handed over is in a file that is there, once, or under a gap.
#include <doctest/doctest.h>
#include <spdlog/spdlog.h>
#include <sys/stat.h>

#include <algorithm>
#include <fstream>

#include "daemon/capture_sink.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/session_clock.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"
#include "tests/system/whole_file.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;
constexpr std::int64_t second = 1'000'000'000;
constexpr std::size_t frames_a_batch = 100;

SessionInfo info() {
  SessionInfo started;
  start_session_clock(started);
  return started;
}

RecordBatch batch(int number) {
  RecordBatch made;
  made.frames.resize(frames_a_batch);
  for (std::size_t i = 0; i < frames_a_batch; ++i) {
    made.frames[i].t_ns = number * second + static_cast<std::int64_t>(i) * 1'000'000;
    made.frames[i].bus = static_cast<std::uint8_t>(i % 2);
    made.frames[i].id = CanId::standard(static_cast<std::uint32_t>(number));
    made.frames[i].length = 8;
  }
  return made;
}

struct Held {
  std::uint64_t stored = 0, lost = 0;
};

Held held_by(const fs::path& file) {
  CAPTURE(file);
  CHECK(guest::is_whole(file.c_str()));
  auto reader = must(CaptureReader::open(file));
  Held held;
  for (const SessionRow& session : must(reader.sessions())) {
    CHECK(session.ended);
    must(reader.for_each_frame(session.id, time_from_start, time_to_end, [&](const Frame&) {
      ++held.stored;
      return true;
    }));
    for (const Gap& gap : must(reader.gaps(session.id))) held.lost += gap.frames_lost;
  }
  return held;
}

struct Quiet {
  spdlog::level::level_enum level = spdlog::get_level();
  Quiet() { spdlog::set_level(spdlog::level::off); }
  ~Quiet() { spdlog::set_level(level); }
};

// Batches 0, 1, 2 with `happens` before the last.
template <typename Happens>
void record_while(const fs::path& name, Happens happens) {
  const Quiet quiet;
  auto sink = must(CaptureSink::open(name, {}, info()));
  must(sink->store(batch(0)));
  must(sink->store(batch(1)));
  happens();
  must(sink->store(batch(2)));
  must(sink->finish(3 * second));
}

fs::path with(const fs::path& file, const char* end) { return file.string() + end; }

}  // namespace

TEST_CASE("a capture that is moved while it is recorded is whole, and a new one is begun") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture", moved = folder / "moved.capture";
  record_while(name, [&] { fs::rename(name, moved); });
  CHECK(held_by(moved).stored == 2 * frames_a_batch);
  CHECK(held_by(name).stored == frames_a_batch);
  CHECK_FALSE(fs::exists(with(moved, "-wal")));
}

TEST_CASE("the same where it is moved just before the stop") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture", moved = folder / "moved.capture";
  auto sink = must(CaptureSink::open(name, {}, info()));
  must(sink->store(batch(0)));
  fs::rename(name, moved);
  must(sink->finish(1 * second));
  CHECK(held_by(moved).stored == frames_a_batch);
  CHECK_FALSE(fs::exists(with(name, "-wal")));
}

TEST_CASE("a capture that is replaced by another leaves both whole") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture", other = folder / "other.capture";
  {
    auto sink = must(CaptureSink::open(other, {}, info()));
    must(sink->store(batch(7)));
    must(sink->finish(8 * second));
  }
  const fs::path moved = folder / "moved.capture";
  record_while(name, [&] {
    fs::rename(name, moved);
    fs::rename(other, name);
  });
  CHECK(held_by(moved).stored == 2 * frames_a_batch);
  CHECK(held_by(name).stored == 2 * frames_a_batch);
}

TEST_CASE("what a recording still holds is carried over from the capture that was moved") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  record_while(name, [&] {
    auto bench = must(CaptureWriter::open(name, std::chrono::milliseconds(1000)));
    Reading reading;
    reading.value = 12.5;
    const auto channel = must(bench.ensure_channel({"pack_current", "A", ChannelKind::hold}));
    must(bench.add_reading(1, channel, reading));
    must(bench.close());
    fs::rename(name, folder / "moved.capture");
  });
  const auto readings = must(must(CaptureReader::open(name)).readings(1));
  REQUIRE(readings.size() == 1);
  CHECK(readings[0].reading.value == 12.5);
}

TEST_CASE("a log that is removed or replaced while it is written costs no frame") {
  for (const auto& ends :
       std::vector<std::vector<const char*>>{{"-wal"}, {"-shm"}, {"-wal", "-shm"}}) {
    const ScratchFolder folder;
    const fs::path name = folder / "tractor.capture";
    CAPTURE(ends);
    record_while(name, [&] {
      for (const char* end : ends) REQUIRE(fs::remove(with(name, end)));
    });
    CHECK(held_by(name).stored == 3 * frames_a_batch);
  }
}

TEST_CASE("after the log was removed, a kill takes nothing that was stored before or since") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture", after = folder / "after.capture";
  record_while(name, [&] { fs::remove(with(name, "-wal")); });
  const Quiet quiet;
  auto sink = must(CaptureSink::open(name, {}, info()));
  must(sink->store(batch(3)));
  fs::remove(with(name, "-wal"));
  must(sink->store(batch(4)));
  // As a kill leaves them.
  for (const char* end : {"", "-wal"}) fs::copy_file(with(name, end), with(after, end));
  auto reader = must(CaptureReader::open(after));
  std::uint64_t frames = 0;
  for (const SessionRow& session : must(reader.sessions())) frames += session.frames;
  CHECK(frames == 5 * frames_a_batch);
}

TEST_CASE("what goes with a removed capture is a gap of the next, bus by bus") {
  for (const auto& ends :
       std::vector<std::vector<const char*>>{{""}, {"", "-wal"}, {"", "-wal", "-shm"}}) {
    const ScratchFolder folder;
    const fs::path name = folder / "tractor.capture";
    record_while(name, [&] {
      for (const char* end : ends) REQUIRE(fs::remove(with(name, end)));
    });
    const Held held = held_by(name);
    CHECK(held.stored == frames_a_batch);
    CHECK(held.lost == 2 * frames_a_batch);
    const auto gaps = must(must(CaptureReader::open(name)).gaps(1));
    REQUIRE(gaps.size() == 2);
    CHECK(gaps[0].frames_lost == gaps[1].frames_lost);
    CHECK(gaps[0].bus != gaps[1].bus);
    CHECK(gaps[0].to_ns == 0);
    CHECK(gaps[0].from_ns == -2 * second);
  }
}

TEST_CASE("a capture that is removed just before the stop is told of all the same") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  const Quiet quiet;
  auto sink = must(CaptureSink::open(name, {}, info()));
  must(sink->store(batch(0)));
  fs::remove(name);
  must(sink->finish(1 * second));
  CHECK(sink->take_removed() == frames_a_batch);
  CHECK(held_by(name).lost == frames_a_batch);
}

TEST_CASE("a recording whose folder is moved goes on in it") {
  const ScratchFolder folder;
  fs::create_directory(folder / "here");
  const fs::path name = folder / "here" / "tractor.capture";
  record_while(name, [&] { fs::rename(folder / "here", folder / "there"); });
  CHECK(held_by(folder / "there" / "tractor.capture").stored == 3 * frames_a_batch);
}

TEST_CASE("where something lies at the name that is no capture, the recording goes on beside it") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture", moved = folder / "moved.capture";
  SUBCASE("a FIFO") {
    record_while(name, [&] {
      fs::rename(name, moved);
      REQUIRE(mkfifo(name.c_str(), 0600) == 0);
    });
    CHECK(fs::is_fifo(name));
  }
  SUBCASE("a text") {
    record_while(name, [&] {
      fs::rename(name, moved);
      std::ofstream(name) << "cell 3 is warm\n";
    });
    CHECK(fs::file_size(name) == 15);
  }
  CHECK(held_by(moved).stored == 2 * frames_a_batch);
  CHECK(held_by(folder / "tractor-000001.capture").stored == frames_a_batch);
}

TEST_CASE("the log of a capture that was killed and moved without it is kept for it") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture", moved = folder / "moved.capture";
  const fs::path killed = folder / "killed.capture";
  {
    auto sink = must(CaptureSink::open(name, {}, info()));
    must(sink->store(batch(0)));
    for (const char* end : {"", "-wal"}) fs::copy_file(with(name, end), with(killed, end));
  }
  fs::rename(killed, moved);
  const Quiet quiet;
  auto sink = must(CaptureSink::open(killed, {}, info()));
  must(sink->finish(1 * second));
  fs::rename(with(killed, "-wal.left-1"), with(moved, "-wal"));
  CHECK(must(must(CaptureReader::open(moved)).session(1)).frames == frames_a_batch);
}

TEST_CASE("a second recorder is refused under another name of the same file") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture", twin = folder / "twin.capture";
  auto sink = must(CaptureSink::open(name, {}, info()));
  fs::create_hard_link(name, twin);
  const auto second_one = CaptureSink::open(twin, {}, info());
  REQUIRE_FALSE(second_one);
  CHECK(second_one.error().code == ErrorCode::busy);
  CHECK(second_one.error().message.find("maybe under another name") != std::string::npos);
  must(sink->store(batch(0)));
}

}  // namespace foundling
