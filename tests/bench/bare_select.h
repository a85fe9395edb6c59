// The time to beat: the same rows out of the file through SQLite's C API, every value looked at.
#pragma once

#include <sqlite3.h>

#include <cstdint>

namespace foundling {

// A sum over all columns and payload bytes of session 1, so that nothing can be left out.
inline std::int64_t bare_select(const char* capture) {
  sqlite3* database = nullptr;
  sqlite3_stmt* select = nullptr;
  sqlite3_open_v2(capture, &database, SQLITE_OPEN_READONLY, nullptr);
  sqlite3_prepare_v2(database,
                     "SELECT rowid, t_ns, bus, identifier, flags, payload FROM frame"
                     " WHERE session = 1 ORDER BY rowid",
                     -1, &select, nullptr);
  std::int64_t sum = 0;
  while (sqlite3_step(select) == SQLITE_ROW) {
    for (int column = 0; column < 5; ++column) sum += sqlite3_column_int64(select, column);
    const auto* payload = static_cast<const std::uint8_t*>(sqlite3_column_blob(select, 5));
    for (int i = 0; i < sqlite3_column_bytes(select, 5); ++i) sum += payload[i];
  }
  sqlite3_finalize(select);
  sqlite3_close(database);
  return sum;
}

}  // namespace foundling
