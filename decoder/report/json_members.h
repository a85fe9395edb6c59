// Reads JSON that a person or another program may have changed: the members of an object by name
// and type, with the path of the first that is not what it should be ("lines[2].lines[0].scale").
// Members that are not asked for are nobody's business: newer versions add some.
#pragma once

#include <cstdint>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "schemas/values/result.h"
#include "schemas/values/span.h"

namespace foundling {

struct NumberLimits {  // both ends belong to it
  double least;
  double most;
};

// The first trouble is kept, and what follows reads as zeros. Refers to the object and the trouble.
class JsonMembers {
 public:
  JsonMembers(const nlohmann::json& object, std::string path, std::optional<std::string>& trouble);

  // Whether there is such a member, and it is not null.
  [[nodiscard]] bool has(const char* name) const;
  [[nodiscard]] bool is_there(const char* name) const;  // null or not
  // The same as `has`, where null is a value: a missing member is refused.
  bool has_or_null(const char* name);

  std::string text(const char* name);
  double number(const char* name);  // finite
  double number(const char* name, const NumberLimits& limits);
  std::int64_t integer(const char* name, std::int64_t low, std::int64_t high);
  std::uint64_t code(const char* name);
  bool flag(const char* name);
  Span span(const char* name);
  // The word's number in `words`.
  int choice(const char* name, std::span<const std::string> words);
  std::pair<double, double> two_numbers(const char* name);
  std::vector<std::string> texts(const char* name);
  std::vector<std::uint64_t> codes(const char* name);
  std::vector<std::pair<std::uint64_t, std::string>> words_by_code(const char* name);
  JsonMembers object(const char* name);
  std::vector<JsonMembers> list(const char* name);

  // For what only the caller can judge: "expected `expected`, found" what the member is.
  void refuse(const char* name, const std::string& expected);

 private:
  [[nodiscard]] const nlohmann::json* get(const char* name) const;
  const nlohmann::json* get_list(const char* name);
  [[nodiscard]] std::string item_path(const char* name, std::size_t i) const;
  void say(const std::string& path, const std::string& expected);

  const nlohmann::json& object_;
  std::string path_;
  std::optional<std::string>& trouble_;
};

// An error names `name`, the file's, with line and column.
[[nodiscard]] Result<nlohmann::json> parse_json(std::string_view text, const std::string& name);

}  // namespace foundling
