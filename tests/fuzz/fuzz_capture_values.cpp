// A capture whose values are anybody's: extreme numbers, endless or broken text, in any column of
// any row; the note that leads to the next file of a chain; and tables that are no longer what they
// were. Ten bytes of input change one column of all rows, or of one, or the schema.
#include <sqlite3.h>

#include <array>
#include <cstring>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/capture/rolled_chain.h"
#include "tests/capture/read_everything.h"
#include "tests/fuzz/cpu_budget.h"
#include "tests/fuzz/input_file.h"

namespace {

using namespace foundling;

constexpr std::array<const char*, 34> columns = {"session.started_utc_ns",
                                                 "session.origin_ns",
                                                 "session.started_boot_ns",
                                                 "session.boot_id",
                                                 "session.ended_ns",
                                                 "session.pack",
                                                 "session.interface",
                                                 "session.bit_rate",
                                                 "session.frames",
                                                 "session.first_ns",
                                                 "session.last_ns",
                                                 "session.first_row",
                                                 "session.last_row",
                                                 "frame.session",
                                                 "frame.t_ns",
                                                 "frame.bus",
                                                 "frame.identifier",
                                                 "frame.flags",
                                                 "frame.payload",
                                                 "channel.name",
                                                 "channel.unit",
                                                 "reading.t_ns",
                                                 "reading.value",
                                                 "reading.uncertainty",
                                                 "reading.state",
                                                 "reading.superseded_by",
                                                 "gap.from_ns",
                                                 "gap.to_ns",
                                                 "gap.bus",
                                                 "gap.frames_lost",
                                                 "clock.wall_ns",
                                                 "clock.step_ns",
                                                 "health.t_ns",
                                                 "health.note"};

// What somebody may do to the tables; ?1 is the input's value.
constexpr std::array<const char*, 16> schema_changes = {
    "ALTER TABLE frame RENAME TO was; CREATE VIEW frame AS SELECT * FROM was",
    "ALTER TABLE reading RENAME TO was; CREATE VIEW reading AS SELECT was.* FROM was, was AS again",
    "CREATE VIEW extra AS SELECT * FROM frame, reading",
    "CREATE TRIGGER extra AFTER INSERT ON reading BEGIN DELETE FROM frame; END",
    "ALTER TABLE channel ADD COLUMN extra",
    "ALTER TABLE session DROP COLUMN pack",
    "DROP TABLE channel",
    "DELETE FROM session",
    "CREATE INDEX extra ON frame (payload)",
    "INSERT INTO session SELECT * FROM session",
    "UPDATE sqlite_schema SET rootpage = ?1 WHERE name = 'frame'",
    "UPDATE sqlite_schema SET rootpage = (SELECT rootpage FROM sqlite_schema WHERE name = "
    "'reading')",
    "UPDATE sqlite_schema SET sql = ?1 WHERE name = 'reading'",
    "UPDATE sqlite_schema SET sql = replace(sql, 'INTEGER', 'ANY')",
    "UPDATE sqlite_schema SET sql = replace(sql, ') STRICT', ')')",
    "UPDATE sqlite_schema SET type = 'view', name = 'session' WHERE name = 'gap'"};
constexpr std::uint8_t first_schema_change = 256 - schema_changes.size();

// Written once: its bytes are where every input starts.
std::string make_template() {
  constexpr std::uint8_t nothing = 0;
  const auto path = input_file(&nothing, 0);
  std::filesystem::remove(path);
  auto writer = CaptureWriter::create(path, CaptureWriter::Purpose::building);
  const auto session = writer->begin_session({});
  std::vector<Frame> frames(5);
  for (Frame& frame : frames) frame.length = 8;
  (void)writer->add_frames(*session, frames);
  const auto channel = writer->ensure_channel({"pack_current", "A", ChannelKind::hold});
  (void)writer->add_reading(*session, *channel, Reading());
  (void)writer->add_gap(*session, {});
  (void)writer->add_clock(*session, {});
  Health health;
  health.note = rolled_over_note("x-000002.capture");
  (void)writer->add_health(*session, health);
  (void)writer->close();
  std::ifstream file(path, std::ios::binary);
  std::string bytes((std::istreambuf_iterator<char>(file)), {});
  std::filesystem::remove(path);
  return bytes;
}

// A value of a kind that the input chooses.
void bind(sqlite3_stmt* update, std::uint8_t kind, const std::uint8_t* eight) {
  std::int64_t number = 0;
  double real = 0;
  std::memcpy(&number, eight, sizeof number);
  std::memcpy(&real, eight, sizeof real);
  switch (kind % 4) {
    case 0:
      sqlite3_bind_int64(update, 1, number);
      break;
    case 1:
      sqlite3_bind_double(update, 1, real);
      break;
    case 2:
      sqlite3_bind_text(update, 1, reinterpret_cast<const char*>(eight), 8, SQLITE_TRANSIENT);
      break;
    default:
      sqlite3_bind_blob(update, 1, eight, 8, SQLITE_TRANSIENT);
  }
}

void run(sqlite3* file, const std::string& sql, std::uint8_t kind, const std::uint8_t* eight) {
  for (const char* rest = sql.c_str(); rest != nullptr && *rest != '\0';) {
    sqlite3_stmt* statement = nullptr;
    if (sqlite3_prepare_v2(file, rest, -1, &statement, &rest) != SQLITE_OK) return;
    if (sqlite3_bind_parameter_count(statement) > 0) bind(statement, kind, eight);
    sqlite3_step(statement);
    sqlite3_finalize(statement);
  }
}

void change(const std::filesystem::path& path, const std::uint8_t* data, std::size_t size) {
  sqlite3* file = nullptr;
  sqlite3_open(path.c_str(), &file);
  sqlite3_exec(file,
               "PRAGMA synchronous = OFF; PRAGMA journal_mode = MEMORY;"
               "PRAGMA writable_schema = ON; PRAGMA legacy_alter_table = ON",
               nullptr, nullptr, nullptr);
  for (; size >= 10; data += 10, size -= 10) {
    if (data[0] >= first_schema_change) {
      run(file, schema_changes[data[0] - first_schema_change], data[1], data + 2);
      continue;
    }
    const std::string name = columns[data[0] % columns.size()];
    const std::size_t dot = name.find('.');
    std::string sql = "UPDATE " + name.substr(0, dot) + " SET " + name.substr(dot + 1) + " = ?1";
    if (data[1] >= 128) sql += " WHERE rowid = " + std::to_string(data[1] % 5 + 1);
    run(file, sql, data[1], data + 2);
  }
  sqlite3_close(file);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const std::string whole = make_template();
  within_cpu_budget([&] {
    const auto path = input_file(reinterpret_cast<const std::uint8_t*>(whole.data()), whole.size());
    change(path, data, size);
    auto reader = CaptureReader::open(path);
    if (reader) {
      test::read_everything(*reader);
      const auto last = reader->last_health(1);
      if (last && *last) (void)rolled_over_to(path, (*last)->note);
    }
    reader = Error{ErrorCode::io, {}};  // closed before the file goes
    std::filesystem::remove(path);
  });
  return 0;
}
