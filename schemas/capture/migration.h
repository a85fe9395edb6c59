// Versions of the capture file: what marks one, and the numbered steps from one to the next.
// Step n takes a file of version n - 1 to version n; step 1 makes the tables in an empty file.
#pragma once

#include <cstdint>
#include <span>

#include "schemas/capture/database.h"
#include "schemas/values/result.h"

namespace foundling::capture_file {

inline constexpr std::int64_t application_id = 0x46444C47;  // "FDLG"

struct Migration {
  std::int64_t version;
  const char* sql;
};

extern const char* const version_1_sql;
extern const char* const version_2_sql;
extern const char* const version_3_sql;
[[nodiscard]] std::span<const Migration> migrations();  // all of them, in order

// The version of the file, once it is known to be a capture.
// An error for a file that is not a capture, or is newer than the last of `known`.
Result<std::int64_t> checked_version(Database& database, std::span<const Migration> known);

// Applies the steps that are missing, all in one transaction.
Result<void> migrate(Database& database, std::int64_t from, std::span<const Migration> known);

}  // namespace foundling::capture_file
