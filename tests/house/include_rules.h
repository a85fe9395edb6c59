// Who may include what. The table is the one of DEVELOPERS.md, as data; a test reads the includes
// of every source and fails on one that the table does not allow.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace foundling::house {

struct IncludeRule {
  std::string_view folder;             // sources under it; the longest matching folder rules
  std::vector<std::string_view> ours;  // prefixes of "quoted" includes
  std::vector<std::string_view>
      libraries;          // prefixes of <external> includes beside the standard ones
  bool may_do_io = true;  // else no standard header that reaches outside
};

[[nodiscard]] const std::vector<IncludeRule>& include_rules();

// What is wrong with this line of this file, or nothing.
[[nodiscard]] std::optional<std::string> violation(std::string_view file, std::string_view line);

}  // namespace foundling::house
