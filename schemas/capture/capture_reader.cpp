#include "schemas/capture/capture_reader.h"

#include <string>
#include <utility>

#include "schemas/capture/capture_file.h"
#include "schemas/capture/database.h"
#include "schemas/capture/migration.h"
#include "schemas/capture/reader_state.h"
#include "schemas/capture/schema_check.h"
#include "schemas/capture/time_limits.h"

namespace foundling {

using capture_file::Access;
using capture_file::Database;
using capture_file::Statement;

namespace {

constexpr int patience_ms = 5000;  // another process may be folding its log in

Result<Database> open_as(const std::filesystem::path& path, Access access) {
  auto database = Database::open(path, access);
  if (!database) return database;
  if (auto looked = database->check_header(); !looked) return looked.error();
  database->wait_when_busy(patience_ms);
  return database;
}

// On a medium that cannot be written, SQLite can open a capture that was not closed only if
// nothing is left in a log.
bool has_log(const std::filesystem::path& path) {
  std::filesystem::path log = path;
  log += "-wal";
  std::error_code ignored;
  return std::filesystem::exists(log, ignored) && std::filesystem::file_size(log, ignored) > 0;
}

SessionRow session_row(const Statement& row) {
  SessionRow session;
  session.id = row.integer(0);
  session.info.started_utc_ns = row.wall_time(1);
  session.info.origin_ns = row.wall_time(2);
  session.info.started_boot_ns = row.wall_time(3);
  session.info.boot_id = row.text(4);
  session.ended = !row.is_null(5);
  session.ended_ns = session.ended ? row.time(5) : 0;
  session.info.pack = row.text(6);
  session.info.board = row.text(7);
  session.info.note = row.text(8);
  session.info.interface = row.text(9);
  session.info.bit_rate = row.count(10);
  session.info.data_bit_rate = row.count(11);
  session.info.tool_version = row.text(12);
  session.frames = static_cast<std::uint64_t>(row.count(13));
  session.first_ns = row.is_null(14) ? 0 : row.time(14);
  session.last_ns = row.is_null(15) ? 0 : row.time(15);
  session.last_row = row.integer_or_null(16);
  return session;
}

// What the columns say together.
std::string fault_of(const SessionRow& session) {
  const std::int64_t length_ns = session.last_ns - session.first_ns;
  if (length_ns >= 0 && length_ns <= longest_session_ns) return {};
  return "row " + std::to_string(session.id) + ": its frames are said to go from " +
         std::to_string(session.first_ns) + " to " + std::to_string(session.last_ns) + " ns";
}

}  // namespace

CaptureReader::CaptureReader(std::unique_ptr<State> state) : state_(std::move(state)) {}
CaptureReader::CaptureReader(CaptureReader&&) noexcept = default;
CaptureReader& CaptureReader::operator=(CaptureReader&&) noexcept = default;
CaptureReader::~CaptureReader() = default;

Result<CaptureReader> CaptureReader::open(const std::filesystem::path& path) {
  if (auto looked = capture_file::check_name(path); !looked) return looked.error();
  const auto known = capture_file::migrations();
  auto database = open_as(path, Access::read_only);
  if (!database) return database.error();
  auto version = capture_file::checked_version(*database, known);
  if (!version && version.error().code == ErrorCode::io && !has_log(path)) {
    database = open_as(path, Access::read_immutable);
    if (!database) return database.error();
    version = capture_file::checked_version(*database, known);
  }
  if (!version) return version.error();
  database->limit_steps();
  if (auto same = capture_file::check_schema(*database, *version, known); !same) {
    return same.error();
  }
  return CaptureReader(std::make_unique<State>(std::move(database).value(), *version));
}

Result<std::vector<SessionRow>> CaptureReader::sessions() {
  std::vector<SessionRow> all;
  auto done = state_->each_row(
      "SELECT id, started_utc_ns, origin_ns, started_boot_ns, boot_id, ended_ns, pack, board, note,"
      " interface, bit_rate, data_bit_rate, tool_version, frames, first_ns, last_ns,"
      " last_row"
      " FROM session ORDER BY id",
      "table session", {}, [&](const Statement& row) {
        all.push_back(session_row(row));
        if (const std::string fault = fault_of(all.back()); !fault.empty()) {
          return Result<bool>(Error{
              ErrorCode::format, state_->database.path().string() + ": table session, " + fault});
        }
        return Result<bool>(true);
      });
  if (!done) return done.error();
  return all;
}

Result<SessionRow> CaptureReader::session(std::optional<std::int64_t> wanted) {
  auto all = sessions();
  if (!all) return all.error();
  const std::string name = state_->database.path().string();
  if (all->empty()) return Error{ErrorCode::not_found, name + ": no session in this capture"};
  for (auto row = all->rbegin(); row != all->rend(); ++row) {
    if (wanted ? row->id == *wanted : row->frames > 0) return *row;
  }
  if (!wanted) return all->back();
  return Error{ErrorCode::not_found, name + ": no session " + std::to_string(*wanted) +
                                         "; sessions go up to " + std::to_string(all->back().id)};
}

Result<SessionData> CaptureReader::load(std::int64_t session_id) {
  SessionData data;
  auto row = session(session_id);
  if (!row) return row.error();
  data.session = std::move(row).value();
  auto frames = state_->load_frames(session_id);
  if (!frames) return frames.error();
  data.messages = std::move(frames->messages);
  data.fd_messages = std::move(frames->fd_messages);
  auto channels = channel_series(session_id);
  if (!channels) return channels.error();
  data.channels = std::move(channels).value();
  return data;
}

}  // namespace foundling
