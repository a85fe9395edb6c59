#include "tools/name_pattern.h"

#include <fnmatch.h>

#include <vector>

#include "schemas/signals/field.h"
#include "schemas/values/nearest_word.h"

namespace foundling {

bool matches(std::string_view pattern, std::string_view name) {
  if (pattern == name) return true;  // a name may have a bracket in it
  return fnmatch(std::string(pattern).c_str(), std::string(name).c_str(), FNM_NOESCAPE) == 0;
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
