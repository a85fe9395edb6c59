#include "schemas/capture/schema_check.h"

#include <map>
#include <mutex>
#include <string>

namespace foundling::capture_file {
namespace {

// What makes one table the same as another; not its comments, nor how it is laid out.
struct Object {
  std::string type;
  std::string sql;
  bool operator==(const Object&) const = default;
};
using Schema = std::map<std::string, Object>;  // by name

std::string without_layout(const std::string& sql) {
  std::string bare;
  for (std::size_t at = 0; at < sql.size(); ++at) {
    if (sql.compare(at, 2, "--") == 0) {
      at = sql.find('\n', at);
      if (at == std::string::npos) break;
    } else if (sql[at] != ' ' && sql[at] != '\n' && sql[at] != '\t' && sql[at] != '\r') {
      bare += sql[at];
    }
  }
  return bare;
}

// Tables and triggers, and views under whatever name.
Result<Schema> schema_of(Database& database) {
  constexpr std::string_view doing = "table sqlite_schema";
  auto list =
      database.prepare("SELECT name, type, sql FROM sqlite_schema WHERE type <> 'index'", doing);
  if (!list) return list.error();
  Schema schema;
  for (;;) {
    const Step step = list->step();
    if (step == Step::failed) return database.error(doing);
    if (step == Step::done) return schema;
    schema[list->text(0)] = {list->text(1), without_layout(list->text(2))};
  }
}

// Made once for each version, by the same steps that make a capture.
Result<Schema> schema_as_made(std::int64_t version, std::span<const Migration> known) {
  auto database = Database::in_memory();
  if (!database) return database.error();
  std::size_t steps = 0;
  while (steps < known.size() && known[steps].version <= version) ++steps;
  if (auto made = migrate(*database, 0, known.first(steps)); !made) return made.error();
  return schema_of(*database);
}

Result<Schema> schema_of_version(std::int64_t version, std::span<const Migration> known) {
  static std::mutex access;
  static std::map<std::pair<const Migration*, std::int64_t>, Schema> made;
  const std::lock_guard lock(access);
  const auto key = std::pair(known.data(), version);
  if (const auto found = made.find(key); found != made.end()) return found->second;
  auto schema = schema_as_made(version, known);
  if (schema) made.emplace(key, *schema);
  return schema;
}

}  // namespace

Result<void> check_schema(Database& database, std::int64_t version,
                          std::span<const Migration> known) {
  const auto wanted = schema_of_version(version, known);
  if (!wanted) return wanted.error();
  const auto found = schema_of(database);
  if (!found) return found.error();
  const auto refuse = [&](const std::string& why) {
    return Error{ErrorCode::format, database.path().string() + ": " + why +
                                        "; damaged, or made by "
                                        "something else"};
  };
  for (const auto& [name, object] : *found) {
    if (object.type == "trigger") return refuse("has a trigger, which no capture has");
  }
  const std::string of = " as a capture of version " + std::to_string(version) + " has it";
  for (const auto& [name, object] : *wanted) {
    if (object.type != "table") continue;  // views are for people, nothing here reads them
    const auto here = found->find(name);
    if (here == found->end()) return refuse("there is no table " + name + "," + of);
    if (here->second.type != "table") return refuse(name + " is no table," + of);
    if (here->second.sql != object.sql) return refuse("table " + name + " is not" + of);
  }
  return {};
}

}  // namespace foundling::capture_file
