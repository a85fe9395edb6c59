#include "tests/house/source_tree.h"

#include <algorithm>
#include <fstream>
#include <sstream>

namespace foundling::house {
namespace {

namespace fs = std::filesystem;

const fs::path root = FOUNDLING_SOURCE_DIR;

bool is_left_out(const std::string& name) {
  return name == ".git" || name == ".cache" || name == "compile_commands.json" ||
         name.compare(0, 5, "build") == 0;
}

bool ends_with(const std::string& text, const std::string& end) {
  return text.size() >= end.size() && text.compare(text.size() - end.size(), end.size(), end) == 0;
}

}  // namespace

std::vector<std::string> all_files() {
  std::vector<std::string> found;
  for (const fs::directory_entry& top : fs::directory_iterator(root)) {
    if (is_left_out(top.path().filename().string())) continue;
    if (!top.is_directory()) {
      found.push_back(top.path().filename().string());
      continue;
    }
    for (const fs::directory_entry& entry : fs::recursive_directory_iterator(top.path())) {
      if (entry.is_regular_file()) found.push_back(entry.path().lexically_relative(root).string());
    }
  }
  std::sort(found.begin(), found.end());
  return found;
}

std::vector<std::string> sources() {
  std::vector<std::string> found = all_files();
  const auto other = [](const std::string& f) {
    return !ends_with(f, ".h") && !ends_with(f, ".cpp");
  };
  found.erase(std::remove_if(found.begin(), found.end(), other), found.end());
  return found;
}

std::string text_of(const std::string& file) {
  std::ifstream in(root / file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

std::vector<SourceLine> lines_of(const std::string& file) {
  std::vector<SourceLine> lines;
  std::istringstream in(text_of(file));
  for (std::string line; std::getline(in, line);) {
    lines.push_back({static_cast<int>(lines.size()) + 1, line});
  }
  return lines;
}

}  // namespace foundling::house
