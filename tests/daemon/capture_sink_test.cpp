#include "daemon/capture_sink.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/recording_lock.h"
#include "schemas/capture/session_clock.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;
constexpr std::int64_t second = 1'000'000'000;

SessionInfo info() {
  SessionInfo started;
  start_session_clock(started);
  started.pack = "orchard tractor";
  return started;
}

// `count` frames from `from_ns` on, a millisecond apart.
RecordBatch batch(std::int64_t from_ns, std::size_t count = 100) {
  RecordBatch made;
  made.frames.resize(count);
  for (std::size_t i = 0; i < count; ++i) {
    made.frames[i].t_ns = from_ns + static_cast<std::int64_t>(i) * 1'000'000;
    made.frames[i].id = CanId::standard(0x1A4);
    made.frames[i].length = 8;
  }
  return made;
}

std::vector<fs::path> captures_in(const ScratchFolder& folder) {
  std::vector<fs::path> found;
  for (const auto& entry : fs::directory_iterator(folder.path())) {
    if (entry.path().extension() == ".capture" && !entry.is_symlink()) {
      found.push_back(entry.path());
    }
  }
  std::ranges::sort(found);
  return found;
}

std::uint64_t frames_in(const fs::path& file) {
  auto reader = must(CaptureReader::open(file));
  std::uint64_t frames = 0;
  for (const SessionRow& session : must(reader.sessions())) frames += session.frames;
  return frames;
}

FilePolicy by_age(std::size_t keep = 0) {
  FilePolicy policy;
  policy.roll_after_ns = 10 * second;
  policy.keep = keep;
  return policy;
}

}  // namespace

TEST_CASE("a recording rolls over to a new file, and the name leads to the present one") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  auto sink = must(CaptureSink::open(name, by_age(), info()));
  for (int i = 0; i < 30; ++i) must(sink->store(batch(i * second)));
  CHECK(fs::is_symlink(name));
  CHECK(fs::canonical(name) == fs::canonical(sink->file()));
  CHECK(RecordingLock::is_held(name));
  must(sink->finish(30 * second));
  const auto files = captures_in(folder);
  REQUIRE(files.size() == 3);
  std::uint64_t all = 0;
  for (const fs::path& file : files) {
    CAPTURE(file);
    auto reader = must(CaptureReader::open(file));
    const auto sessions = must(reader.sessions());
    REQUIRE(sessions.size() == 1);
    CHECK(sessions[0].ended);
    CHECK(sessions[0].first_ns == 0);
    CHECK(sessions[0].info.pack == "orchard tractor");
    all += sessions[0].frames;
  }
  CHECK(all == 3000);
  // The sessions follow each other on the machine's steady clock without a seam.
  auto first = must(CaptureReader::open(files[0]));
  auto next = must(CaptureReader::open(files[1]));
  const SessionRow before = must(first.session({})), after = must(next.session({}));
  CHECK(after.info.started_boot_ns - before.info.started_boot_ns == 10 * second);
}

TEST_CASE("a size limit is kept to within one batch, whatever is still in the log") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  FilePolicy policy;
  policy.roll_bytes = 1U << 20U;
  auto sink = must(CaptureSink::open(name, policy, info()));
  for (int i = 0; i < 100; ++i) must(sink->store(batch(i * 2 * second, 2000)));
  must(sink->finish(200 * second));
  const auto files = captures_in(folder);
  CHECK(files.size() >= 5);
  std::uint64_t all = 0;
  for (const fs::path& file : files) {
    CHECK(fs::file_size(file) < (1U << 20U) + 2000 * 40);
    all += frames_in(file);
  }
  CHECK(all == 200'000);
}

TEST_CASE("what was applied and still holds is carried into the new file, at its true time") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  auto sink = must(CaptureSink::open(name, by_age(), info()));
  must(sink->store(batch(0)));
  {
    auto bench = must(CaptureWriter::open(name, std::chrono::milliseconds(1000)));
    const auto current = must(bench.ensure_channel({"pack_current", "A", ChannelKind::hold}));
    const auto voltage = must(bench.ensure_channel({"pack_voltage", "V", ChannelKind::sample}));
    Reading reading;
    reading.t_ns = 2 * second;
    reading.value = 5;
    must(bench.add_reading(1, current, reading));
    reading.t_ns = 4 * second;
    reading.value = 12.5;
    reading.earliest_ns = 3 * second;
    must(bench.add_reading(1, current, reading));
    reading.value = 96;
    must(bench.add_reading(1, voltage, reading));
    must(bench.close());
  }
  must(sink->store(batch(10 * second)));
  auto reader = must(CaptureReader::open(name));
  const auto readings = must(reader.readings(1));
  REQUIRE(readings.size() == 1);
  CHECK(readings[0].channel.name == "pack_current");
  CHECK(readings[0].reading.value == 12.5);
  CHECK(readings[0].reading.t_ns == -6 * second);
  CHECK(readings[0].reading.earliest_ns == -7 * second);
}

TEST_CASE("keep removes the oldest files that the recorder rolled, and no other") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  // Not ours, whatever they are called: a text, and a capture that was not finished by rolling.
  std::ofstream(folder / "tractor-000001.capture") << "not a capture";
  must(must(CaptureWriter::create(folder / "tractor-000002.capture")).close());
  std::ofstream(folder / "tractor.signals") << "foundling signals 1\n";
  auto sink = must(CaptureSink::open(name, by_age(2), info()));
  for (int i = 0; i < 60; i += 5) must(sink->store(batch(i * second)));
  const auto files = captures_in(folder);
  CHECK(files.size() == 2 + 2);
  CHECK(fs::exists(folder / "tractor-000001.capture"));
  CHECK(fs::exists(folder / "tractor-000002.capture"));
  CHECK(fs::exists(folder / "tractor.signals"));
}

TEST_CASE("a capture of its own is not made into a link") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  must(must(CaptureWriter::create(name)).close());
  const auto sink = CaptureSink::open(name, by_age(), info());
  REQUIRE_FALSE(sink);
  CHECK(sink.error().message.find("is a capture of its own") != std::string::npos);
  CHECK_FALSE(fs::is_symlink(name));
}

TEST_CASE("what took the link's name meanwhile is left, and the recording goes on") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  auto sink = must(CaptureSink::open(name, by_age(), info()));
  must(sink->store(batch(0)));
  fs::remove(name);
  std::ofstream(name) << "cell 3 is warm\n";
  std::ofstream(folder / "tractor.capture.new") << "mine";
  must(sink->store(batch(11 * second)));
  must(sink->finish(12 * second));
  CHECK(fs::is_regular_file(fs::symlink_status(name)));
  CHECK(fs::file_size(name) == 15);
  CHECK(fs::file_size(folder / "tractor.capture.new") == 4);
  CHECK(frames_in(folder / "tractor-000001.capture") == 100);
  CHECK(frames_in(folder / "tractor-000002.capture") == 100);
}

TEST_CASE("a link that a killed recorder left half made is removed with the next") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  fs::create_symlink("tractor-000001.capture", folder / "tractor.capture.link-abc");
  auto sink = must(CaptureSink::open(name, by_age(), info()));
  CHECK_FALSE(fs::is_symlink(folder / "tractor.capture.link-abc"));
}

TEST_CASE("a recorder that comes back goes on in the present file, in a further session") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  {
    auto sink = must(CaptureSink::open(name, by_age(), info()));
    must(sink->store(batch(0)));
  }
  auto sink = must(CaptureSink::open(name, by_age(), info()));
  CHECK(sink->session() == 2);
  CHECK(captures_in(folder).size() == 1);
}

TEST_CASE("a second recorder is refused, by the link's name and by the file's") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  auto sink = must(CaptureSink::open(name, by_age(), info()));
  for (const fs::path& path : {name, sink->file()}) {
    const auto second_one = CaptureSink::open(path, {}, info());
    REQUIRE_FALSE(second_one);
    CHECK(second_one.error().code == ErrorCode::busy);
  }
}

TEST_CASE("a file that is removed while it is recorded is noticed, and a new one begun") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  auto sink = must(CaptureSink::open(name, {}, info()));
  must(sink->store(batch(0)));
  for (const char* end : {"", "-wal", "-shm"}) fs::remove(name.string() + end);
  must(sink->store(batch(1 * second)));
  must(sink->store(batch(2 * second)));
  must(sink->finish(3 * second));
  CHECK(frames_in(name) == 200);
}

TEST_CASE("when little of the disk is left nothing is written, and it goes on when there is more") {
  const ScratchFolder folder;
  const fs::path name = folder / "tractor.capture";
  FilePolicy policy;
  policy.reserve_bytes = fs::space(folder.path()).available * 2;
  auto sink = must(CaptureSink::open(name, policy, info()));
  const auto before = fs::file_size(name);
  const auto refused = sink->store(batch(0));
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == ErrorCode::full);
  CHECK(refused.error().message.find("are left alone") != std::string::npos);
  CHECK(fs::file_size(name) == before);
  CHECK(frames_in(name) == 0);
}

}  // namespace foundling
