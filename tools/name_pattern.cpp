#include "tools/name_pattern.h"

#include <cstddef>
#include <vector>

#include "schemas/signals/field.h"
#include "schemas/values/nearest_word.h"

namespace foundling {

// Only the last * is tried again, so a hostile pattern costs at most the product of the lengths.
bool matches(std::string_view pattern, std::string_view name) {
  std::size_t p = 0;
  std::size_t n = 0;
  std::size_t star = std::string_view::npos;
  std::size_t star_name = 0;
  while (n < name.size()) {
    if (p < pattern.size() && pattern[p] == '*') {
      star = p++;
      star_name = n;
    } else if (p < pattern.size() && (pattern[p] == '?' || pattern[p] == name[n])) {
      ++p;
      ++n;
    } else if (star != std::string_view::npos) {
      p = star + 1;
      n = ++star_name;
    } else {
      return false;
    }
  }
  while (p < pattern.size() && pattern[p] == '*') ++p;
  return p == pattern.size();
}

Result<void> check_pattern(const SignalMap& map, const std::string& pattern) {
  std::vector<std::string> names;
  for (const Field& field : fields_of(map)) {
    if (matches(pattern, field.name)) return {};
    names.push_back(field.name);
  }
  const auto near = nearest_word(pattern, names);
  return Error{ErrorCode::usage, "the map has no signal '" + pattern + '\'' +
                                     (near ? "; did you mean '" + *near + "'?" : "")};
}

}  // namespace foundling
