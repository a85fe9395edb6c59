#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <regex>
#include <set>

#include "tests/house/source_tree.h"

namespace foundling::house {
namespace {

namespace fs = std::filesystem;

const std::set<std::string> top_level = {
    "CMakeLists.txt", "CMakePresets.json", "DEVELOPERS.md", "LICENSE", "README.md", "captures_demo",
    "daemon",         "decoder",           "schemas",       "tests",   "tools"};

// Where the repository is checked out now, and home folders, are nobody else's business.
bool names_a_place_on_a_machine(const std::string& text) {
  const std::string here = std::string(FOUNDLING_SOURCE_DIR) + "/";
  const std::string home = std::string("/ho") + "me/";  // in pieces: this file is read too
  const std::string root_home = std::string("/ro") + "ot/";
  return text.find(here) != std::string::npos || text.find(home) != std::string::npos ||
         text.find(root_home) != std::string::npos;
}

}  // namespace

TEST_CASE("the top level holds the six folders and the five files, and nothing else") {
  std::set<std::string> found;
  for (const fs::directory_entry& entry : fs::directory_iterator(FOUNDLING_SOURCE_DIR)) {
    const std::string name = entry.path().filename().string();
    const bool ignored =
        name.front() == '.' || name.compare(0, 5, "build") == 0 || name == "compile_commands.json";
    if (!ignored) found.insert(name);
  }
  CHECK(found == top_level);
}

TEST_CASE("no source is longer than 400 lines, unless it says why at its top") {
  for (const std::string& file : sources()) {
    const std::vector<SourceLine> lines = lines_of(file);
    if (lines.size() <= 400) continue;
    const bool explained = std::any_of(lines.begin(), lines.begin() + 10, [](const SourceLine& l) {
      return l.text.find("longer than 400 lines") != std::string::npos;
    });
    if (!explained) FAIL_CHECK(file << " has " << lines.size() << " lines");
  }
}

TEST_CASE("every header opens with what it is, and is included once") {
  for (const std::string& file : sources()) {
    if (file.substr(file.size() - 2) != ".h") continue;
    const std::string text = text_of(file);
    CAPTURE(file);
    CHECK(text.compare(0, 2, "//") == 0);
    CHECK(text.find("#pragma once") != std::string::npos);
  }
}

TEST_CASE("no file names a place on the machine where it was written") {
  for (const std::string& file : all_files()) {
    if (names_a_place_on_a_machine(text_of(file))) FAIL_CHECK(file << " names such a place");
  }
}

TEST_CASE("scripts are executable and stop at the first error") {
  for (const std::string& file : all_files()) {
    const bool script =
        file == ".ci/run" || (file.size() > 3 && file.substr(file.size() - 3) == ".sh");
    if (!script) continue;
    CAPTURE(file);
    const fs::perms mode = fs::status(fs::path(FOUNDLING_SOURCE_DIR) / file).permissions();
    CHECK((mode & fs::perms::owner_exec) != fs::perms::none);
    CHECK(text_of(file).find("\nset -") != std::string::npos);
  }
}

// Clang 14 captures no structured binding, and what doctest shows of a failure is a lambda: g++,
// which runs the tests, would not say so.
TEST_CASE("what a test shows of a failure is no structured binding") {
  static const std::regex binding(R"(auto&{0,2} \[([^\]]+)\])");
  static const std::regex word(R"([A-Za-z_]\w*)");
  for (const std::string& file : sources()) {
    if (file.rfind("tests/", 0) != 0) continue;
    std::set<std::string> bound;
    std::size_t outside = 0;  // how far the statement that binds them is indented
    for (const SourceLine& line : lines_of(file)) {
      const std::size_t indent = line.text.find_first_not_of(' ');
      if (indent == std::string::npos) continue;
      if (line.text[indent] == '}' && indent <= outside) bound.clear();
      std::smatch found;
      if (std::regex_search(line.text, found, binding)) {
        const std::string names = found[1];
        outside = indent;
        bound = {std::sregex_token_iterator(names.begin(), names.end(), word), {}};
      }
      const std::string shown = line.text.substr(indent);
      if (shown.rfind("CAPTURE(", 0) != 0 && shown.rfind("INFO(", 0) != 0) continue;
      const auto behind = shown.begin() + static_cast<std::ptrdiff_t>(shown.find('('));
      for (std::sregex_token_iterator at(behind, shown.end(), word), none; at != none; ++at) {
        if (bound.contains(*at)) FAIL_CHECK(file << ":" << line.number << ": " << shown);
      }
    }
  }
}

}  // namespace foundling::house
