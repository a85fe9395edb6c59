// Captures of older and newer versions, and what each version promises of its rows.
#include <doctest/doctest.h>

#include <array>
#include <fstream>
#include <string>
#include <vector>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/capture/database.h"
#include "schemas/capture/migration.h"
#include "tests/capture/small_capture.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

using capture_file::Access;
using capture_file::Database;
using capture_file::Migration;
using std::chrono::milliseconds;

void run_sql(const std::filesystem::path& path, const char* sql) {
  Database database = must(Database::open(path, Access::read_write));
  must(database.execute(sql, "test"));
}

TEST_CASE("a capture of a newer version is refused and left as it is") {
  const ScratchFolder folder;
  fill(folder / "a.capture");
  run_sql(folder / "a.capture", "PRAGMA user_version = 9");
  const std::string before = get(folder / "a.capture");
  const auto reader = CaptureReader::open(folder / "a.capture");
  const auto writer = CaptureWriter::open(folder / "a.capture", milliseconds(0));
  REQUIRE_FALSE(reader.ok());
  REQUIRE_FALSE(writer.ok());
  CHECK(reader.error().message == writer.error().message);
  CHECK(reader.error().message.substr((folder / "a.capture").string().size()) ==
        ": capture of version 9, made by a newer Foundling; this one reads up to 3");
  CHECK(reader.error().code == ErrorCode::version);
  CHECK(get(folder / "a.capture") == before);
}

TEST_CASE("an older capture is brought up to date step by step, or not at all") {
  const ScratchFolder folder;
  fill(folder / "a.capture");
  // The real version 3 plays the old one; two invented steps follow.
  const std::array<Migration, 5> steps{{{1, capture_file::version_1_sql},
                                        {2, capture_file::version_2_sql},
                                        {3, capture_file::version_3_sql},
                                        {4, "ALTER TABLE session ADD COLUMN place TEXT"},
                                        {5, "UPDATE session SET place = 'shed'"}}};
  std::array<Migration, 5> broken = steps;
  broken.back().sql = "UPDATE no_such_table SET place = 'shed'";
  Database database = must(Database::open(folder / "a.capture", Access::read_write));
  const auto version = must(capture_file::checked_version(database, steps));
  CHECK(version == 3);
  const auto failed = capture_file::migrate(database, version, broken);
  REQUIRE_FALSE(failed.ok());
  CHECK(failed.error().message.find("cannot migrate to version 5") != std::string::npos);
  CHECK(must(database.integer("PRAGMA user_version", "test")) == 3);
  CHECK_FALSE(database.prepare("SELECT place FROM session", "test").ok());

  must(capture_file::migrate(database, version, steps));
  CHECK(must(capture_file::checked_version(database, steps)) == 5);
  CHECK(must(database.integer("SELECT count(*) FROM session WHERE place = 'shed'", "test")) == 1);
  CHECK(must(database.integer("SELECT count(*) FROM frame", "test")) == 2000);
}

TEST_CASE("a capture of version 1 is read as it is, and brought up to date by its next writer") {
  const ScratchFolder folder;
  // Recorded by the program that made version 1, and never opened by a later one.
  const std::filesystem::path old = FOUNDLING_SOURCE_DIR "/captures_demo/tractor-1.capture";
  const auto copy = folder / "a.capture";
  std::filesystem::copy_file(old, copy);
  const std::string before = get(copy);
  const auto frames_and_readings = [&] {
    auto reader = must(CaptureReader::open(copy));
    CHECK(must(reader.session({})).frames == 6504);
    CHECK(must(reader.instruments(1)).empty());
    return must(reader.readings(1)).size();
  };
  const std::size_t readings = frames_and_readings();
  CHECK(readings > 100);
  CHECK(must(must(CaptureReader::open(copy)).marks(1)).empty());
  CHECK(get(copy) == before);

  auto writer = must(CaptureWriter::open(copy, milliseconds(0)));
  must(writer.add_mark(1, {5, "note", "found in the shed"}));
  must(writer.close());
  Database database = must(Database::open(copy, Access::read_only));
  CHECK(must(database.integer("PRAGMA user_version", "test")) == 3);
  CHECK(frames_and_readings() == readings);
  CHECK(must(must(CaptureReader::open(copy)).marks(1)).size() == 1);
}

// As the program that made version 2 left it.
void fill_version_2(const std::filesystem::path& path) {
  put(path, "");
  Database database = must(Database::open(path, Access::read_write));
  const std::string mark =
      "PRAGMA application_id = " + std::to_string(capture_file::application_id);
  must(database.execute(mark.c_str(), "test"));
  must(capture_file::migrate(database, 0, capture_file::migrations().first(2)));
  must(database.execute(
      "INSERT INTO session (started_utc_ns, origin_ns, started_boot_ns, boot_id, pack, board, note,"
      " interface, bit_rate, data_bit_rate, tool_version)"
      " VALUES (0, 0, 0, '', '', '', '', '', 0, 0, '');"
      "INSERT INTO channel (name, unit, kind) VALUES ('pack_current', 'A', 'hold');"
      "INSERT INTO reading (session, channel, t_ns, value, uncertainty)"
      " VALUES (1, 1, 5, 1.25, 0.01);",
      "test"));
}

TEST_CASE("a capture of version 2 is read as it is, and brought up to date by its next writer") {
  const ScratchFolder folder;
  const auto path = folder / "a.capture";
  fill_version_2(path);
  const std::string before = get(path);
  const auto readings = [&] { return must(must(CaptureReader::open(path)).readings(1)); };
  REQUIRE(readings().size() == 1);
  CHECK(readings()[0].reading.value == 1.25);
  CHECK(readings()[0].reading.earliest_ns == Reading::no_time);
  CHECK(get(path) == before);

  auto writer = must(CaptureWriter::open(path, milliseconds(0)));
  must(writer.add_reading(1, 1, {9, 2.5, 0.01, "", 7}));
  must(writer.close());
  Database database = must(Database::open(path, Access::read_only));
  CHECK(must(database.integer("PRAGMA user_version", "test")) == 3);
  REQUIRE(readings().size() == 2);
  CHECK(readings()[0].reading.value == 1.25);
  CHECK(readings()[0].reading.earliest_ns == Reading::no_time);
  CHECK(readings()[1].reading.earliest_ns == 7);
  CHECK(must(database.integer("SELECT count(*) FROM reading_text WHERE earliest_s IS NULL",
                              "test")) == 1);
}

TEST_CASE("a reader that was there first reads on while the capture is brought up to date") {
  const ScratchFolder folder;
  const auto path = folder / "a.capture";
  fill_version_2(path);
  auto reader = must(CaptureReader::open(path));
  auto writer = must(CaptureWriter::open(path, milliseconds(0)));
  must(writer.add_reading(1, 1, {9, 2.5, 0.01, "", 7}));
  CHECK(must(reader.readings(1)).size() == 2);
}

TEST_CASE("a reading is not true before it was asked for, whoever writes or reads it") {
  const ScratchFolder folder;
  const auto path = folder / "a.capture";
  fill(path);
  auto writer = must(CaptureWriter::open(path, milliseconds(0)));
  CHECK_FALSE(writer.add_reading(1, 1, {5, 1.25, 0.01, "", 6}).ok());
  must(writer.close());
  run_sql(path, "PRAGMA ignore_check_constraints = ON; UPDATE reading SET earliest_ns = 6");
  auto reader = must(CaptureReader::open(path));
  CHECK(reader.load(1).error().message ==
        path.string() + ": table reading, row 1: earliest_ns lies after t_ns");
}

}  // namespace
}  // namespace foundling
