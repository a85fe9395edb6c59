// A prepared statement: values in, and values out of rows that anybody may have written.
#include <sqlite3.h>

#include <cmath>
#include <limits>
#include <string>

#include "schemas/capture/database.h"
#include "schemas/capture/time_limits.h"

namespace foundling::capture_file {

void Statement::Finalize::operator()(sqlite3_stmt* handle) const { sqlite3_finalize(handle); }

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
  faulty_column_ = -1;
}

void Statement::remember(int column, const char* wanted) const {
  if (faulty_column_ >= 0) return;
  faulty_column_ = column;
  wanted_ = wanted;
}

// One look at the column for its type and its value: asking is what reading costs beside SQLite.
std::int64_t Statement::integer(int column) const {
  sqlite3_value* const value = sqlite3_column_value(handle_.get(), column);
  if (sqlite3_value_type(value) == SQLITE_INTEGER) return sqlite3_value_int64(value);
  remember(column, "a whole number");
  return 0;
}

std::int64_t Statement::integer_or_null(int column) const {
  return is_null(column) ? 0 : integer(column);
}

std::int64_t Statement::bounded(int column, std::int64_t least, std::int64_t most,
                                const char* wanted) const {
  const std::int64_t value = integer(column);
  if (value >= least && value <= most) return value;
  remember(column, wanted);
  return 0;
}

std::int64_t Statement::count(int column) const {
  return bounded(column, 0, std::numeric_limits<std::int64_t>::max(), "a count");
}

std::int64_t Statement::time(int column) const {
  return bounded(column, -longest_time_ns, longest_time_ns, "a time within 100 years");
}

std::int64_t Statement::wall_time(int column) const {
  return bounded(column, -latest_wall_ns, latest_wall_ns, "a time before the year 2116");
}

double Statement::real(int column) const {
  sqlite3_value* const value = sqlite3_column_value(handle_.get(), column);
  const int type = sqlite3_value_type(value);
  if (type == SQLITE_NULL) return std::numeric_limits<double>::quiet_NaN();
  const double number = sqlite3_value_double(value);
  const bool good = (type == SQLITE_FLOAT || type == SQLITE_INTEGER) && std::isfinite(number);
  if (good) return number;
  remember(column, "a finite number");
  return 0;
}

std::string Statement::text(int column) const {
  if (sqlite3_column_type(handle_.get(), column) != SQLITE_TEXT) {
    remember(column, "text");
    return {};
  }
  const unsigned char* const bytes = sqlite3_column_text(handle_.get(), column);
  if (bytes == nullptr) return {};
  const int length = sqlite3_column_bytes(handle_.get(), column);
  return {reinterpret_cast<const char*>(bytes), static_cast<std::size_t>(length)};
}

std::string Statement::text_or_null(int column) const {
  return is_null(column) ? std::string() : text(column);
}

std::span<const std::uint8_t> Statement::blob(int column) const {
  sqlite3_value* const value = sqlite3_column_value(handle_.get(), column);
  if (sqlite3_value_type(value) != SQLITE_BLOB) {
    remember(column, "bytes");
    return {};
  }
  const void* const bytes = sqlite3_column_blob(handle_.get(), column);
  const int length = sqlite3_column_bytes(handle_.get(), column);
  if (bytes == nullptr) return {};
  return {static_cast<const std::uint8_t*>(bytes), static_cast<std::size_t>(length)};
}

bool Statement::is_null(int column) const {
  return sqlite3_column_type(handle_.get(), column) == SQLITE_NULL;
}

std::string Statement::fault() const {
  if (faulty_column_ < 0) return {};
  std::string row;
  const int columns = sqlite3_column_count(handle_.get());
  for (int column = 0; column < columns && row.empty(); ++column) {
    const std::string_view name = sqlite3_column_name(handle_.get(), column);
    if (name != "id" && name != "rowid") continue;
    row = "row " + std::to_string(sqlite3_column_int64(handle_.get(), column)) + ", ";
  }
  static constexpr const char* types[] = {"",     "a whole number", "a number",
                                          "text", "bytes",          "NULL"};
  const int type = sqlite3_column_type(handle_.get(), faulty_column_);
  std::string found = types[type];
  if (type == SQLITE_INTEGER) {
    found = std::to_string(sqlite3_column_int64(handle_.get(), faulty_column_));
  }
  return row + "column " + sqlite3_column_name(handle_.get(), faulty_column_) + ": expected " +
         wanted_ + ", found " + found;
}

}  // namespace foundling::capture_file
