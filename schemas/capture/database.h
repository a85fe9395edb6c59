// A SQLite connection and a prepared statement, owned. For this folder (and its tests) only.
// Every error names the file and what was being done.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>

#include "schemas/values/result.h"

struct sqlite3;
struct sqlite3_stmt;

namespace foundling::capture_file {

enum class Step { row, done, failed };

class Statement {
 public:
  explicit Statement(sqlite3_stmt* handle = nullptr) : handle_(handle) {}

  Statement& bind(int index, std::int64_t value);  // index from 1
  Statement& bind(int index, double value);        // NaN becomes NULL
  Statement& bind(int index, std::string_view value);
  Statement& bind(int index, std::span<const std::uint8_t> value);  // must outlive the step
  Statement& bind_null(int index);
  Step step();
  void reset();

  // Values of the present row; column from 0. A value of another type, or beyond what the column
  // may hold, comes out as 0 or empty and is remembered: see fault().
  [[nodiscard]] std::int64_t integer(int column) const;
  [[nodiscard]] std::int64_t integer_or_null(int column) const;  // NULL becomes 0
  [[nodiscard]] std::int64_t count(int column) const;            // not negative
  [[nodiscard]] std::int64_t time(int column) const;             // within longest_time_ns
  [[nodiscard]] std::int64_t wall_time(int column) const;        // within latest_wall_ns
  [[nodiscard]] double real(int column) const;                   // NULL becomes NaN
  [[nodiscard]] std::string text(int column) const;
  [[nodiscard]] std::string text_or_null(int column) const;            // NULL becomes empty
  [[nodiscard]] std::span<const std::uint8_t> blob(int column) const;  // until the next step
  [[nodiscard]] bool is_null(int column) const;

  // What was wrong with a value of the present row, with its row and column; empty: nothing.
  [[nodiscard]] std::string fault() const;

 private:
  [[nodiscard]] std::int64_t bounded(int column, std::int64_t least, std::int64_t most,
                                     const char* wanted) const;
  void remember(int column, const char* wanted) const;

  struct Finalize {
    void operator()(sqlite3_stmt* handle) const;
  };
  std::unique_ptr<sqlite3_stmt, Finalize> handle_;
  int bind_failure_ = 0;
  mutable int faulty_column_ = -1;
  mutable const char* wanted_ = nullptr;
};

enum class Access { read_only, read_immutable, read_write };

class Database {
 public:
  static Result<Database> open(const std::filesystem::path& path, Access access);
  static Result<Database> in_memory();
  // An error unless the file begins as every SQLite file does.
  Result<void> check_header();

  Result<void> execute(const char* sql, std::string_view doing);
  Result<Statement> prepare(std::string_view sql, std::string_view doing);
  Result<std::int64_t> integer(std::string_view sql, std::string_view doing);
  // From here on until the next call, reading may take so many steps of SQLite's machine as a file
  // of this size gives work for; a file whose pages lead round in circles is given up.
  void limit_steps();
  // Steps a statement that yields no rows, then resets it.
  Result<void> run(Statement& statement, std::string_view doing);
  // Puts all that is in the log into the file itself, through the handles that are open, whatever
  // has become of their names. ErrorCode::busy while somebody still reads what was before.
  Result<void> fold_log_in();
  // Whether the name leads to another file than the one that is open.
  [[nodiscard]] bool has_moved() const;
  void wait_when_busy(int milliseconds);

  [[nodiscard]] std::int64_t last_row() const;
  [[nodiscard]] Error error(std::string_view doing) const;  // of the last call that failed
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  struct Close {
    void operator()(sqlite3* handle) const;
  };
  [[nodiscard]] std::int64_t bytes() const;

  std::unique_ptr<sqlite3, Close> handle_;
  std::filesystem::path path_;
  std::unique_ptr<std::int64_t> steps_left_ = std::make_unique<std::int64_t>(0);
};

}  // namespace foundling::capture_file
