// Captures from a stranger: tables that are none, values of the wrong type, times at the ends of 64
// bits, pages that lead round in circles. Each is refused with its place, and quickly.
#include <doctest/doctest.h>
#include <sqlite3.h>

#include <chrono>
#include <fstream>
#include <string>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

fs::path good_capture(const ScratchFolder& folder) {
  const fs::path path = folder / "tractor.capture";
  auto writer = must(CaptureWriter::create(path));
  const auto session = must(writer.begin_session({}));
  std::vector<Frame> frames(50);
  for (std::size_t i = 0; i < frames.size(); ++i) {
    frames[i].t_ns = static_cast<std::int64_t>(i) * 1'000'000;
    frames[i].length = 8;
  }
  must(writer.add_frames(session, frames));
  Reading reading;
  reading.value = 12.5;
  const auto channel = must(writer.ensure_channel({"pack_current", "A", ChannelKind::hold}));
  must(writer.add_reading(session, channel, reading));
  must(writer.add_gap(session, {}));
  must(writer.close());
  return path;
}

// As anybody with an SQLite shell can change it; `sql` may rewrite the schema.
void change(const fs::path& path, const std::string& sql) {
  sqlite3* file = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &file) == SQLITE_OK);
  sqlite3_db_config(file, SQLITE_DBCONFIG_DEFENSIVE, 0, nullptr);
  char* why = nullptr;
  sqlite3_exec(file, sql.c_str(), nullptr, nullptr, &why);
  if (why != nullptr) FAIL(sql << ": " << why);
  sqlite3_close(file);
}

// The table's statement without STRICT, so that a wrong value can be put in, and with it again.
void change_unchecked(const fs::path& path, const std::string& table, const std::string& sql) {
  const std::string of = " WHERE name = '" + table + "'";
  change(path,
         "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace(sql, "
         "') STRICT', ')')" +
             of);
  change(path, sql);
  change(path, "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = sql || ' STRICT'" + of);
}

// What the first call says that finds a fault; empty: none does.
std::string fault_of(const fs::path& path) {
  auto reader = CaptureReader::open(path);
  if (!reader) return reader.error().message;
  const auto message = [](const auto& result) {
    return result ? std::string() : result.error().message;
  };
  for (const std::string& said :
       {message(reader->sessions()), message(reader->load(1)), message(reader->readings(1)),
        message(reader->gaps(1)), message(reader->channels())}) {
    if (!said.empty()) return said;
  }
  return {};
}

bool says(const std::string& message, const char* words) {
  return message.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("a view, a trigger or another table in the place of a capture's is refused") {
  const struct {
    const char *sql, *words;
  } cases[] = {
      {"ALTER TABLE frame RENAME TO was; CREATE VIEW frame AS WITH RECURSIVE n(i) AS (SELECT 1"
       " UNION ALL SELECT i + 1 FROM n) SELECT 1 AS session, i AS t_ns, 0 AS bus, 1 AS identifier,"
       " 0 AS flags, x'00' AS payload FROM n",
       "frame is no table"},
      {"ALTER TABLE session RENAME TO was; CREATE VIEW session AS SELECT * FROM was",
       "session is no table"},
      {"DROP VIEW reading_text; DROP TABLE reading", "there is no table reading"},
      {"DROP TABLE gap; CREATE TABLE gap (id INTEGER PRIMARY KEY, session, from_ns, to_ns, bus,"
       " frames_lost, why)",
       "table gap is not as a capture of version"},
      {"CREATE TRIGGER mine AFTER INSERT ON frame BEGIN DELETE FROM frame; END",
       "has a trigger, which no capture has"},
  };
  for (const auto& one : cases) {
    CAPTURE(one.sql);
    const ScratchFolder folder;
    const fs::path path = good_capture(folder);
    change(path, std::string("PRAGMA legacy_alter_table = ON; ") + one.sql);
    const auto reader = CaptureReader::open(path);
    REQUIRE_FALSE(reader);
    CHECK(reader.error().code == ErrorCode::format);
    CAPTURE(reader.error().message);
    CHECK(says(reader.error().message, one.words));
    CHECK_FALSE(CaptureWriter::open(path, std::chrono::milliseconds(100)));
  }
}

TEST_CASE("what a person added beside a capture's tables is left alone") {
  const ScratchFolder folder;
  const fs::path path = good_capture(folder);
  change(path,
         "CREATE TABLE mine (a); CREATE VIEW my_view AS SELECT count(*) FROM frame;"
         "CREATE INDEX by_time ON frame (t_ns)");
  CHECK(fault_of(path).empty());
}

TEST_CASE("a value of the wrong type is refused with its table, row and column") {
  const struct {
    const char *table, *sql, *words;
  } cases[] = {
      {"frame", "UPDATE frame SET t_ns = 'noon' WHERE rowid = 7",
       "table frame: row 7, column t_ns: expected a whole number, found text"},
      {"frame", "UPDATE frame SET payload = 'eight by' WHERE rowid = 7",
       "table frame: row 7, column payload: expected bytes, found text"},
      {"reading", "UPDATE reading SET value = 'full'",
       "table reading: row 1, column value: expected a finite number, found text"},
      {"gap", "UPDATE gap SET why = x'05'",
       "table gap: row 1, column why: expected text, found bytes"},
      {"session", "UPDATE session SET pack = x'00'",
       "table session: row 1, column pack: expected text, found bytes"},
  };
  for (const auto& one : cases) {
    CAPTURE(one.sql);
    const ScratchFolder folder;
    const fs::path path = good_capture(folder);
    change_unchecked(path, one.table, one.sql);
    const std::string said = fault_of(path);
    CAPTURE(said);
    CHECK(says(said, one.words));
  }
}

TEST_CASE("times at the ends of 64 bits are refused with their place") {
  const struct {
    const char *sql, *words;
  } cases[] = {
      {"UPDATE frame SET t_ns = 9223372036854775807 WHERE rowid = 3",
       "table frame: row 3, column t_ns: expected a time within 100 years, found "
       "9223372036854775807"},
      {"UPDATE frame SET t_ns = -9223372036854775807 - 1 WHERE rowid = 3", "row 3, column t_ns"},
      {"UPDATE reading SET t_ns = 9223372036854775807", "table reading: row 1, column t_ns"},
      {"UPDATE reading SET value = 9e999", "expected a finite number"},
      {"UPDATE gap SET to_ns = 9223372036854775807", "table gap: row 1, column to_ns"},
      {"UPDATE gap SET frames_lost = -1", "column frames_lost: expected a count, found -1"},
      {"UPDATE session SET origin_ns = 9223372036854775807",
       "table session: row 1, column origin_ns: expected a time before the year 2116"},
      {"UPDATE session SET last_ns = 3155760000000000000", "its frames are said to go from 0 to"},
      {"UPDATE session SET first_ns = 1000000000", "its frames are said to go from 1000000000 to"},
  };
  for (const auto& one : cases) {
    CAPTURE(one.sql);
    const ScratchFolder folder;
    const fs::path path = good_capture(folder);
    change(path, one.sql);
    const std::string said = fault_of(path);
    CAPTURE(said);
    CHECK(says(said, one.words));
  }
}

TEST_CASE("pages that lead to the same rows again and again are given up within a second") {
  const ScratchFolder folder;
  const fs::path path = folder / "tractor.capture";
  {
    auto writer = must(CaptureWriter::create(path));
    const auto session = must(writer.begin_session({}));
    std::vector<Frame> frames(400'000);
    for (Frame& frame : frames) frame.length = 8;
    must(writer.add_frames(session, frames));
    must(writer.close());
  }
  // Every entry of the tree's inner pages is made to lead where the first one does.
  std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
  constexpr int page_bytes = 4096;
  const auto pages = static_cast<int>(fs::file_size(path) / page_bytes);
  for (int page = 1; page < pages; ++page) {
    std::string bytes(page_bytes, '\0');
    file.seekg(std::streamoff{page} * page_bytes);
    file.read(bytes.data(), page_bytes);
    if (bytes[0] != 5) continue;  // https://www.sqlite.org/fileformat2.html: inner, of a table
    const auto two = [&](int at) {
      return static_cast<unsigned char>(bytes[static_cast<std::size_t>(at)]) * 256 +
             static_cast<unsigned char>(bytes[static_cast<std::size_t>(at) + 1]);
    };
    const int cells = two(3);
    for (int cell = 1; cell < cells; ++cell) {
      bytes.replace(static_cast<std::size_t>(two(12 + 2 * cell)), 4, bytes,
                    static_cast<std::size_t>(two(12)), 4);
    }
    file.seekp(std::streamoff{page} * page_bytes);
    file.write(bytes.data(), page_bytes);
  }
  file.close();
  auto reader = must(CaptureReader::open(path));
  const auto began = std::chrono::steady_clock::now();
  std::uint64_t frames = 0;
  (void)reader.for_each_frame(1, time_from_start, time_to_end, [&](const Frame&) {
    ++frames;
    return true;
  });
  CHECK(std::chrono::steady_clock::now() - began < std::chrono::seconds(10));
  CHECK(frames <= 4 * fs::file_size(path));
}

// An inner page of a table whose every entry leads to one page
// (https://www.sqlite.org/fileformat2.html, 1.6).
std::string page_that_leads_to(std::uint32_t child) {
  constexpr std::size_t entries = 400;
  constexpr std::size_t start = 4096 - entries * 5;
  std::string page(4096, '\0');
  const auto put = [&page](std::size_t at, std::uint32_t value, std::size_t bytes) {
    for (std::size_t i = 0; i < bytes; ++i) {
      page[at + i] = static_cast<char>(value >> (8 * (bytes - 1 - i)));
    }
  };
  put(0, 5, 1);
  put(3, entries, 2);
  put(5, start, 2);
  put(8, child, 4);
  for (std::size_t entry = 0; entry < entries; ++entry) {
    put(12 + 2 * entry, static_cast<std::uint32_t>(start + 5 * entry), 2);
    put(start + 5 * entry, child, 4);
    put(start + 5 * entry + 4, 127, 1);  // the row up to which it is to lead
  }
  return page;
}

TEST_CASE("a small file that gives millions of rows is given up, and says so") {
  const ScratchFolder folder;
  const fs::path path = folder / "tractor.capture";
  {
    auto writer = must(CaptureWriter::create(path));
    const auto session = must(writer.begin_session({}));
    std::vector<Frame> frames(3'000);
    for (Frame& frame : frames) frame.length = 8;
    must(writer.add_frames(session, frames));
    must(writer.close());
  }
  // The root's second and third child become inner pages; 400 x 400 ways lead to the first.
  std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
  const auto read = [&file](std::streamoff at, std::size_t size) {
    std::string bytes(size, '\0');
    file.seekg(at);
    file.read(bytes.data(), static_cast<std::streamsize>(size));
    std::uint32_t value = 0;
    for (const char c : bytes) value = value << 8U | static_cast<unsigned char>(c);
    return value;
  };
  std::streamoff root = 4096;
  while (read(root, 1) != 5) root += 4096;
  const auto child = [&](int n) { return read(root + read(root + 12 + 2 * n, 2), 4); };
  const std::uint32_t leaf = child(0);
  const std::uint32_t second = child(1);
  const std::uint32_t third = child(2);
  const auto write = [&file](std::streamoff at, const std::string& page) {
    file.seekp(at);
    file.write(page.data(), static_cast<std::streamsize>(page.size()));
  };
  write(std::streamoff{third - 1} * 4096, page_that_leads_to(leaf));
  write(std::streamoff{second - 1} * 4096, page_that_leads_to(third));
  write(root, page_that_leads_to(second));
  file.close();
  auto reader = must(CaptureReader::open(path));
  std::uint64_t frames = 0;
  const auto ended = reader.for_each_frame(1, time_from_start, time_to_end,
                                           [&](const Frame&) { return ++frames < 3'000'000; });
  CHECK(frames < 1'000'000);
  REQUIRE_FALSE(ended.ok());
  CHECK(says(ended.error().message, "gives more to read than a file of its size can hold"));
}

}  // namespace foundling
