#include "schemas/capture/database.h"

#include <sqlite3.h>

#include <array>

#include "schemas/capture/regular_open.h"
#include "schemas/values/shown_text.h"

namespace foundling::capture_file {
namespace {

constexpr std::string_view sqlite_magic("SQLite format 3\0", 16);

ErrorCode code_of(int failure) {
  switch (failure & 0xFF) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return ErrorCode::busy;
    case SQLITE_FULL:
      return ErrorCode::full;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
    case SQLITE_MISMATCH:
    case SQLITE_ERROR:  // a table or column that is not there
      return ErrorCode::format;
    default:
      return ErrorCode::io;
  }
}

// A percent-encoded file: URI, so that any file name can be opened with a parameter.
std::string uri_of(const std::filesystem::path& path, const char* parameter) {
  static constexpr char digits[] = "0123456789ABCDEF";
  std::string uri = "file:";
  for (const char c : std::filesystem::absolute(path).string()) {
    if (c == '%' || c == '?' || c == '#') {
      const auto byte = static_cast<unsigned char>(c);
      uri += {'%', digits[byte >> 4U], digits[byte & 15U]};
    } else {
      uri += c;
    }
  }
  return uri + '?' + parameter;
}

}  // namespace

void Database::Close::operator()(sqlite3* handle) const { sqlite3_close_v2(handle); }

namespace {

// The file may come from anybody: nothing in its schema may do more than hold data.
void harden(sqlite3* handle) {
  sqlite3_extended_result_codes(handle, 1);
  sqlite3_db_config(handle, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(handle, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  sqlite3_db_config(handle, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, nullptr);
  // A bench plan is the longest text that a capture holds: its limit is a megabyte, sixteen times
  // over. The default of a gigabyte is what one row of a small file could take of memory.
  sqlite3_limit(handle, SQLITE_LIMIT_LENGTH, 16 << 20U);
}

constexpr int steps_between_looks = 10'000;
// Reading a row of frames takes some 15 steps and 12 bytes or more, one of readings some 70 and 20
// (EXPLAIN, counted): eight times what is needed, for those that were read before by mistake.
constexpr std::int64_t steps_a_byte = 32;
constexpr std::int64_t steps_at_least = 4'000'000;

}  // namespace

Result<Database> Database::open(const std::filesystem::path& path, Access access) {
  open_regular_files_only();
  Database database;
  database.path_ = path;
  const std::string uri =
      uri_of(path, access == Access::read_immutable ? "immutable=1" : "cache=private");
  const int mode = access == Access::read_write ? SQLITE_OPEN_READWRITE : SQLITE_OPEN_READONLY;
  sqlite3* handle = nullptr;
  const int outcome =
      sqlite3_open_v2(uri.c_str(), &handle, mode | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX, nullptr);
  database.handle_.reset(handle);  // to be closed even when opening failed
  if (outcome != SQLITE_OK) return database.error("cannot open");
  harden(handle);
  return database;
}

Result<Database> Database::in_memory() {
  Database database;
  database.path_ = ":memory:";
  sqlite3* handle = nullptr;
  const int outcome = sqlite3_open(":memory:", &handle);
  database.handle_.reset(handle);
  if (outcome != SQLITE_OK) return database.error("cannot open");
  return database;
}

// With what is in its log.
std::int64_t Database::bytes() const {
  std::int64_t all = 0;
  for (const int which : {SQLITE_FCNTL_FILE_POINTER, SQLITE_FCNTL_JOURNAL_POINTER}) {
    sqlite3_file* file = nullptr;
    sqlite3_file_control(handle_.get(), "main", which, &file);
    sqlite3_int64 size = 0;
    if (file == nullptr || file->pMethods == nullptr) continue;
    if (file->pMethods->xFileSize(file, &size) == SQLITE_OK) all += size;
  }
  return all;
}

void Database::limit_steps() {
  *steps_left_ = steps_at_least + steps_a_byte * bytes();
  sqlite3_progress_handler(
      handle_.get(), steps_between_looks,
      [](void* left) {
        auto& steps = *static_cast<std::int64_t*>(left);
        steps -= steps_between_looks;
        return steps < 0 ? 1 : 0;
      },
      steps_left_.get());
}

// Through SQLite's own handle: closing one of ours would take its locks away.
Result<void> Database::check_header() {
  sqlite3_file* file = nullptr;
  sqlite3_file_control(handle_.get(), "main", SQLITE_FCNTL_FILE_POINTER, &file);
  std::array<char, sqlite_magic.size()> start{};
  if (file == nullptr || file->pMethods == nullptr) return error("cannot read");
  // A shorter file is filled up with zeros.
  const int read = file->pMethods->xRead(file, start.data(), static_cast<int>(start.size()), 0);
  if (read != SQLITE_OK && read != SQLITE_IOERR_SHORT_READ) {
    return Error{ErrorCode::io, path_.string() + ": cannot read: " + sqlite3_errstr(read)};
  }
  if (std::string_view(start.data(), start.size()) == sqlite_magic) return {};
  return Error{ErrorCode::format,
               path_.string() + ": not a capture: byte 0: expected \"SQLite format 3\""};
}

Error Database::error(std::string_view doing) const {
  if (!handle_) return {ErrorCode::io, path_.string() + ": out of memory"};
  const int failure = sqlite3_extended_errcode(handle_.get());
  std::string message = path_.string() + ": " + std::string(doing) + ": ";
  const bool damaged = (failure & 0xFF) == SQLITE_CORRUPT || (failure & 0xFF) == SQLITE_NOTADB;
  if (damaged) message += "the file is damaged: ";
  if (failure == SQLITE_INTERRUPT) {
    message += "gives more to read than a file of its size can hold: damaged, or made so";
    return {ErrorCode::format, std::move(message)};
  }
  message += shown(sqlite3_errmsg(handle_.get()));  // quotes names and text of the file
  return {code_of(failure), std::move(message)};
}

Result<void> Database::execute(const char* sql, std::string_view doing) {
  if (sqlite3_exec(handle_.get(), sql, nullptr, nullptr, nullptr) != SQLITE_OK) {
    return error(doing);
  }
  return {};
}

Result<Statement> Database::prepare(std::string_view sql, std::string_view doing) {
  sqlite3_stmt* handle = nullptr;
  if (sqlite3_prepare_v3(handle_.get(), sql.data(), static_cast<int>(sql.size()),
                         SQLITE_PREPARE_PERSISTENT, &handle, nullptr) != SQLITE_OK) {
    return error(doing);
  }
  return Statement(handle);
}

Result<std::int64_t> Database::integer(std::string_view sql, std::string_view doing) {
  auto statement = prepare(sql, doing);
  if (!statement) return statement.error();
  if (statement->step() != Step::row) return error(doing);
  return statement->integer(0);
}

Result<void> Database::run(Statement& statement, std::string_view doing) {
  const Step outcome = statement.step();
  if (outcome == Step::failed) {
    Error failure = error(doing);
    statement.reset();
    return failure;
  }
  statement.reset();
  return {};
}

Result<void> Database::fold_log_in() {
  constexpr std::string_view doing = "cannot fold the log in";
  auto fold = prepare("PRAGMA wal_checkpoint(TRUNCATE)", doing);
  if (!fold) return fold.error();
  if (fold->step() != Step::row) return error(doing);
  const bool held_up = fold->integer(0) != 0;
  const std::int64_t in_log = fold->integer(1), folded = fold->integer(2);
  // Held up only in making the log empty, with all of it in the file, is good too.
  if (!held_up || (in_log >= 0 && folded == in_log)) return {};
  return Error{ErrorCode::busy, path_.string() + ": " + std::string(doing) + ": it is being read"};
}

bool Database::has_moved() const {
  int moved = 0;
  sqlite3_file_control(handle_.get(), "main", SQLITE_FCNTL_HAS_MOVED, &moved);
  return moved != 0;
}

void Database::wait_when_busy(int milliseconds) {
  sqlite3_busy_timeout(handle_.get(), milliseconds);
}

std::int64_t Database::last_row() const { return sqlite3_last_insert_rowid(handle_.get()); }

}  // namespace foundling::capture_file
