#include "schemas/capture/database.h"

#include <sqlite3.h>

#include <array>
#include <cmath>
#include <limits>

#include "schemas/capture/regular_open.h"

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

void Statement::Finalize::operator()(sqlite3_stmt* handle) const { sqlite3_finalize(handle); }
void Database::Close::operator()(sqlite3* handle) const { sqlite3_close_v2(handle); }

Statement& Statement::bind(int index, std::int64_t value) {
  bind_failure_ |= sqlite3_bind_int64(handle_.get(), index, value);
  return *this;
}

Statement& Statement::bind(int index, double value) {
  bind_failure_ |= std::isnan(value) ? sqlite3_bind_null(handle_.get(), index)
                                     : sqlite3_bind_double(handle_.get(), index, value);
  return *this;
}

Statement& Statement::bind(int index, std::string_view value) {
  bind_failure_ |= sqlite3_bind_text64(handle_.get(), index, value.data(), value.size(),
                                       SQLITE_TRANSIENT, SQLITE_UTF8);
  return *this;
}

Statement& Statement::bind(int index, std::span<const std::uint8_t> value) {
  // A null pointer would bind NULL: an empty payload is an empty blob.
  bind_failure_ |= value.empty() ? sqlite3_bind_zeroblob(handle_.get(), index, 0)
                                 : sqlite3_bind_blob64(handle_.get(), index, value.data(),
                                                       value.size(), SQLITE_STATIC);
  return *this;
}

Statement& Statement::bind_null(int index) {
  bind_failure_ |= sqlite3_bind_null(handle_.get(), index);
  return *this;
}

Step Statement::step() {
  if (bind_failure_ != 0) return Step::failed;
  const int outcome = sqlite3_step(handle_.get());
  if (outcome == SQLITE_ROW) return Step::row;
  return outcome == SQLITE_DONE ? Step::done : Step::failed;
}

void Statement::reset() {
  sqlite3_reset(handle_.get());
  bind_failure_ = 0;
}

std::int64_t Statement::integer(int column) const {
  return sqlite3_column_int64(handle_.get(), column);
}

double Statement::real(int column) const {
  if (is_null(column)) return std::numeric_limits<double>::quiet_NaN();
  return sqlite3_column_double(handle_.get(), column);
}

std::string Statement::text(int column) const {
  const unsigned char* const bytes = sqlite3_column_text(handle_.get(), column);
  if (bytes == nullptr) return {};
  const int length = sqlite3_column_bytes(handle_.get(), column);
  return {reinterpret_cast<const char*>(bytes), static_cast<std::size_t>(length)};
}

std::span<const std::uint8_t> Statement::blob(int column) const {
  const void* const bytes = sqlite3_column_blob(handle_.get(), column);
  const int length = sqlite3_column_bytes(handle_.get(), column);
  if (bytes == nullptr) return {};
  return {static_cast<const std::uint8_t*>(bytes), static_cast<std::size_t>(length)};
}

bool Statement::is_null(int column) const {
  return sqlite3_column_type(handle_.get(), column) == SQLITE_NULL;
}

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
  sqlite3_extended_result_codes(handle, 1);
  // The file may come from anybody: nothing in its schema may do more than hold data.
  sqlite3_db_config(handle, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(handle, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  sqlite3_db_config(handle, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, nullptr);
  return database;
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
  message += sqlite3_errmsg(handle_.get());
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
