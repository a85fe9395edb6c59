// SQLite's own verdict on a file: `PRAGMA integrity_check` says nothing but "ok". Opened as
// SQLite's shell does it, so that a log or journal that a fault left behind is worked off.
#pragma once

#include <sqlite3.h>

#include <cstdio>
#include <string>

namespace foundling::guest {

inline bool is_whole(const char* path) {
  sqlite3* file = nullptr;
  std::string verdict;
  if (sqlite3_open_v2(path, &file, SQLITE_OPEN_READWRITE, nullptr) == SQLITE_OK) {
    sqlite3_exec(
        file, "PRAGMA integrity_check",
        [](void* text, int, char** values, char**) {
          static_cast<std::string*>(text)->append(values[0]);
          return 0;
        },
        &verdict, nullptr);
  }
  if (verdict.empty()) verdict = sqlite3_errmsg(file);
  sqlite3_close(file);
  if (verdict != "ok") std::printf("integrity_check: %s\n", verdict.c_str());
  return verdict == "ok";
}

}  // namespace foundling::guest
