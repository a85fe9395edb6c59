#include "schemas/capture/migration.h"

#include <array>
#include <string>

namespace foundling::capture_file {

std::span<const Migration> migrations() {
  static const std::array<Migration, 3> all{
      {{1, version_1_sql}, {2, version_2_sql}, {3, version_3_sql}}};
  return all;
}

Result<std::int64_t> checked_version(Database& database, std::span<const Migration> known) {
  const auto mark = database.integer("PRAGMA application_id", "cannot read");
  if (!mark) return mark.error();
  const std::string name = database.path().string();
  if (*mark != application_id) {
    return Error{ErrorCode::format, name + ": an SQLite database, but not a Foundling capture"};
  }
  const auto version = database.integer("PRAGMA user_version", "cannot read");
  if (!version) return version.error();
  const std::int64_t newest = known.back().version;
  if (*version > newest) {
    return Error{ErrorCode::version, name + ": capture of version " + std::to_string(*version) +
                                         ", made by a newer Foundling; this one reads up to " +
                                         std::to_string(newest)};
  }
  if (*version < 1) {
    return Error{ErrorCode::format, name + ": capture without a version: damaged"};
  }
  return *version;
}

Result<void> migrate(Database& database, std::int64_t from, std::span<const Migration> known) {
  if (from >= known.back().version) return {};
  if (auto begun = database.execute("BEGIN IMMEDIATE", "cannot migrate"); !begun) return begun;
  const auto give_up = [&](Error failure) -> Result<void> {
    (void)database.execute("ROLLBACK", "cannot roll back");
    return failure;
  };
  // Another process may have been quicker: the version counts that is there under the lock.
  const auto now = database.integer("PRAGMA user_version", "cannot migrate");
  if (!now) return give_up(now.error());
  for (const Migration& step : known) {
    if (step.version <= *now) continue;
    const std::string number = std::to_string(step.version);
    const std::string doing = "cannot migrate to version " + number;
    if (auto done = database.execute(step.sql, doing); !done) return give_up(done.error());
    const std::string mark = "PRAGMA user_version = " + number;
    if (auto done = database.execute(mark.c_str(), doing); !done) return give_up(done.error());
  }
  if (auto done = database.execute("COMMIT", "cannot migrate"); !done) {
    return give_up(done.error());
  }
  return {};
}

}  // namespace foundling::capture_file
