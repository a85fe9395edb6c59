// The repository's files as the house tests read them: what git would hold, without build folders.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace foundling::house {

struct SourceLine {
  int number = 0;  // 1 first
  std::string text;
};

// Repository-relative paths ("tools/main.cpp"), sorted; no build folders, no .git.
[[nodiscard]] std::vector<std::string> all_files();
// Those ending in .h or .cpp.
[[nodiscard]] std::vector<std::string> sources();
[[nodiscard]] std::vector<SourceLine> lines_of(const std::string& file);
[[nodiscard]] std::string text_of(const std::string& file);

}  // namespace foundling::house
