// A capture met in a bad state: foreign, damaged, on a failing disk, fought over.
#include <doctest/doctest.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>
#include <random>
#include <string>
#include <thread>
#include <vector>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/capture/database.h"
#include "tests/capture/failing_disk.h"
#include "tests/capture/read_everything.h"
#include "tests/capture/small_capture.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

using capture_file::Access;
using capture_file::Database;
using std::chrono::milliseconds;

std::string opening_error(const std::filesystem::path& path) {
  const auto reader = CaptureReader::open(path);
  const auto writer = CaptureWriter::open(path, milliseconds(0));
  REQUIRE_FALSE(reader.ok());
  REQUIRE_FALSE(writer.ok());
  CHECK(reader.error().message == writer.error().message);
  return reader.error().message.substr(path.string().size());
}

void run_sql(const std::filesystem::path& path, const char* sql) {
  Database database = must(Database::open(path, Access::read_write));
  must(database.execute(sql, "test"));
}

TEST_CASE("what is not a capture is refused with what it is") {
  const ScratchFolder folder;
  CHECK(opening_error(folder / "no.capture") == ": cannot open: No such file or directory");
  put(folder / "empty.capture", "");
  CHECK(opening_error(folder / "empty.capture") == ": empty file, not a capture");
  put(folder / "text.capture", "time_s,bus,identifier,extended,payload\n");
  CHECK(opening_error(folder / "text.capture") ==
        ": not a capture: byte 0: expected \"SQLite format 3\"");
  CHECK(opening_error(folder.path()) == ": a folder, not a capture");
  put(folder / "short.capture", std::string("SQLite format 3\0", 16));
  CHECK(opening_error(folder / "short.capture").find("damaged") != std::string::npos);
}

TEST_CASE("another program's database is refused and left as it is") {
  const ScratchFolder folder;
  fill(folder / "a.capture");
  run_sql(folder / "a.capture", "PRAGMA application_id = 7");
  const std::string before = get(folder / "a.capture");
  CHECK(opening_error(folder / "a.capture") == ": an SQLite database, but not a Foundling capture");
  CHECK(get(folder / "a.capture") == before);
}

TEST_CASE("an existing file is not overwritten") {
  const ScratchFolder folder;
  put(folder / "a.capture", "mine");
  const auto made = CaptureWriter::create(folder / "a.capture");
  CHECK(made.error().code == ErrorCode::exists);
  CHECK(get(folder / "a.capture") == "mine");
}

void read_everything(const std::filesystem::path& path) {
  auto reader = CaptureReader::open(path);
  if (reader) test::read_everything(*reader);
}

TEST_CASE("a capture cut short anywhere is answered without a crash") {
  const ScratchFolder folder;
  fill(folder / "a.capture");
  const std::string whole = get(folder / "a.capture");
  for (std::size_t size = 1; size < whole.size(); size += 997) {
    put(folder / "cut.capture", whole.substr(0, size));
    read_everything(folder / "cut.capture");
  }
  put(folder / "cut.capture", whole.substr(0, whole.size() / 2));
  auto reader = CaptureReader::open(folder / "cut.capture");
  const std::string message = !reader ? reader.error().message : reader->load(1).error().message;
  CHECK(message.find("damaged") != std::string::npos);
}

TEST_CASE("a capture with flipped bytes is answered without a crash") {
  const ScratchFolder folder;
  fill(folder / "a.capture");
  const std::string whole = get(folder / "a.capture");
  constexpr unsigned seed = 20241101;
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (int round = 0; round < 200; ++round) {
    std::string damaged = whole;
    for (int i = 0; i < 8; ++i) {
      // Half of them in the first pages, where the structure is.
      const std::size_t within =
          i % 2 == 0 ? std::min<std::size_t>(whole.size(), 8192) : whole.size();
      damaged[random() % within] = static_cast<char>(random());
    }
    put(folder / "flipped.capture", damaged);
    read_everything(folder / "flipped.capture");
  }
}

TEST_CASE("a row that no recorder writes is refused with its table and row") {
  const ScratchFolder folder;
  fill(folder / "a.capture");
  run_sql(folder / "a.capture", "UPDATE frame SET payload = zeroblob(65) WHERE rowid = 3");
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  CHECK(reader.load(1).error().message ==
        (folder / "a.capture").string() + ": table frame, row 3: payload is longer than 64 bytes");
}

TEST_CASE("whichever write fails while recording, whole commits are left and nothing else") {
  const ScratchFolder folder;
  FailingDisk disk;
  int failures = 0;
  for (const int error : {SQLITE_FULL, SQLITE_IOERR_WRITE}) {
    for (int calls = 0;; ++calls) {
      CAPTURE(calls);
      const auto path =
          folder /
          std::string("w").append(std::to_string(error)).append("-").append(std::to_string(calls));
      std::uint64_t committed = 0;
      {
        auto writer = must(CaptureWriter::create(path));
        const auto session = must(writer.begin_session({}));
        disk.fail_after(calls, error);
        for (std::int64_t batch = 0; batch < 5; ++batch) {
          if (!writer.add_frames(session, some_frames(batch * 100, 100))) continue;
          ++committed;
        }
        (void)writer.close();
        disk.recover();
      }
      auto reader = must(CaptureReader::open(path));
      const SessionRow row = must(reader.session(1));
      // A commit whose log was written but whose sync failed may be there or not.
      CHECK(row.frames % 100 == 0);
      CHECK(row.frames >= committed * 100);
      const auto data = must(reader.load(1));
      CHECK((data.messages.empty() ? 0 : data.messages[0].size()) == row.frames);
      if (!disk.has_failed()) break;
      ++failures;
    }
  }
  CHECK(failures > 10);
}

TEST_CASE("whichever write fails while a capture is made, no file is left") {
  const ScratchFolder folder;
  FailingDisk disk;
  for (int calls = 0;; ++calls) {
    CAPTURE(calls);
    disk.fail_after(calls, SQLITE_FULL);
    const bool made = CaptureWriter::create(folder / "a.capture").ok();
    disk.recover();
    if (made) break;
    CHECK(std::filesystem::is_empty(folder.path()));
  }
}

TEST_CASE("a writer killed in the middle of a batch leaves the commits before it") {
  const ScratchFolder folder;
  const auto path = folder / "a.capture";
  const pid_t child = fork();
  if (child == 0) {
    auto writer = CaptureWriter::create(path);
    const auto session = writer->begin_session({});
    (void)writer->add_frames(*session, some_frames(0, 500));
    (void)writer->begin();
    (void)writer->add_frames(*session, some_frames(500, 500));
    _exit(0);  // as SIGKILL does: no commit, no close
  }
  int status = 0;
  waitpid(child, &status, 0);
  auto reader = must(CaptureReader::open(path));
  CHECK(must(reader.load(1)).messages.at(0).size() == 500);
  CHECK_FALSE(must(reader.session(1)).ended);
  auto writer = must(CaptureWriter::open(path, milliseconds(100)));
  CHECK(must(writer.begin_session({})) == 2);
  must(writer.close());
}

TEST_CASE("two writers on one capture wait for each other and lose nothing") {
  const ScratchFolder folder;
  const auto path = folder / "a.capture";
  auto recorder = must(CaptureWriter::create(path));
  const auto session = must(recorder.begin_session({}));
  std::string fault;
  std::thread bench([&] {
    auto writer = CaptureWriter::open(path, milliseconds(10'000));
    if (!writer) {
      fault = writer.error().message;
      return;
    }
    const auto channel = writer->ensure_channel({"pack_current", "A", ChannelKind::hold});
    for (int i = 0; i < 50 && channel; ++i) {
      const auto added = writer->add_reading(session, *channel, {i, 1.0 * i, 0.1, ""});
      if (!added) fault = added.error().message;
    }
    (void)writer->close();
  });
  for (std::int64_t i = 0; i < 50; ++i) {
    must(recorder.add_frames(session, some_frames(i * 10, 10)));
  }
  bench.join();
  CHECK(fault == "");
  must(recorder.close());
  auto reader = must(CaptureReader::open(path));
  CHECK(must(reader.load(session)).messages.at(0).size() == 500);
  CHECK(must(reader.readings(session)).size() == 50);
  CHECK_FALSE(std::filesystem::exists(path.string() + "-wal"));
}

TEST_CASE("a reader sees whole commits while a writer goes on") {
  const ScratchFolder folder;
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  const auto session = must(writer.begin_session({}));
  auto reader = must(CaptureReader::open(folder / "a.capture"));
  must(writer.add_frames(session, some_frames(0, 10)));
  must(writer.begin());
  must(writer.add_frames(session, some_frames(10, 10)));
  std::uint64_t seen = 0;
  const auto count = [&](const Frame&) {
    ++seen;
    return true;
  };
  const auto row = must(reader.frames_after(session, 0, count));
  CHECK(seen == 10);
  must(writer.commit());
  CHECK(must(reader.frames_after(session, row, count)) == row + 10);
  CHECK(seen == 20);
}

TEST_CASE("a finished capture opens where nothing can be written") {
  const ScratchFolder folder;
  fill(folder / "a.capture");
  std::filesystem::permissions(folder / "a.capture", std::filesystem::perms::owner_read);
  std::filesystem::permissions(
      folder.path(), std::filesystem::perms::owner_read | std::filesystem::perms::owner_exec);
  auto reader = CaptureReader::open(folder / "a.capture");
  const bool loaded = reader.ok() && reader->load(1).ok();
  std::filesystem::permissions(folder.path(), std::filesystem::perms::owner_all);
  CHECK(loaded);
}

}  // namespace
}  // namespace foundling
