// A capture whose tables are right and whose values are anybody's: extreme numbers, endless or
// broken text, in any column of any row; and the note that leads to the next file of a chain. Ten
// bytes of input change one column of all rows, or of one.
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

void change(const std::filesystem::path& path, const std::uint8_t* data, std::size_t size) {
  sqlite3* file = nullptr;
  sqlite3_open(path.c_str(), &file);
  sqlite3_exec(file, "PRAGMA synchronous = OFF; PRAGMA journal_mode = MEMORY", nullptr, nullptr,
               nullptr);
  for (; size >= 10; data += 10, size -= 10) {
    const std::string name = columns[data[0] % columns.size()];
    const std::size_t dot = name.find('.');
    std::string sql = "UPDATE " + name.substr(0, dot) + " SET " + name.substr(dot + 1) + " = ?1";
    if (data[1] >= 128) sql += " WHERE rowid = " + std::to_string(data[1] % 5 + 1);
    sqlite3_stmt* update = nullptr;
    sqlite3_prepare_v2(file, sql.c_str(), -1, &update, nullptr);
    bind(update, data[1], data + 2);
    sqlite3_step(update);
    sqlite3_finalize(update);
  }
  sqlite3_close(file);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const std::string whole = make_template();
  const auto path = input_file(reinterpret_cast<const std::uint8_t*>(whole.data()), whole.size());
  const CpuBudget budget;
  change(path, data, size);
  auto reader = CaptureReader::open(path);
  if (reader) {
    (void)reader->sessions();
    (void)reader->load(1);
    (void)reader->readings(1);
    (void)reader->marks(1);
    (void)reader->gaps(1);
    (void)reader->clock_marks(1);
    const auto last = reader->last_health(1);
    if (last && *last) (void)rolled_over_to(path, (*last)->note);
  }
  reader = Error{ErrorCode::io, {}};  // closed before the file goes
  std::filesystem::remove(path);
  return 0;
}
