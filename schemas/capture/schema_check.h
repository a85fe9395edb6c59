// Whether a file's tables are those that a capture of its version has, statement for statement: a
// view in the place of a table may never end, a table without STRICT holds text where a number is
// wanted, and a trigger does what its maker likes. What a person added beside them (a table, a
// view, an index of their own) is left alone, for nothing here asks for it.
#pragma once

#include <cstdint>
#include <span>

#include "schemas/capture/database.h"
#include "schemas/capture/migration.h"
#include "schemas/values/result.h"

namespace foundling::capture_file {

Result<void> check_schema(Database& database, std::int64_t version,
                          std::span<const Migration> known);

}  // namespace foundling::capture_file
