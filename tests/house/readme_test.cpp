#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <sstream>

#include "tests/house/program.h"
#include "tests/house/source_tree.h"

namespace foundling::house {
namespace {

struct Typed {
  std::string place;  // "README.md:12"
  std::vector<std::string> words;
};

// The command in a line of a fenced block: behind "$ ", or the name of a program of ours.
std::string command_of(const std::string& line) {
  if (line.rfind("$ ", 0) == 0) return line.substr(2);
  const std::string first = line.substr(0, line.find(' '));
  return first == "foundling" || first == "foundlingd" || first.rfind("tools/", 0) == 0 ? line : "";
}

// The commands that a page tells a person to type.
std::vector<Typed> commands_in(const std::string& file) {
  std::vector<Typed> found;
  bool fenced = false;
  for (const SourceLine& line : lines_of(file)) {
    if (line.text.compare(0, 3, "```") == 0) fenced = !fenced;
    if (!fenced || command_of(line.text).empty()) continue;
    std::istringstream in(command_of(line.text));
    Typed typed{file + ":" + std::to_string(line.number), {}};
    for (std::string word; in >> word && word != "#";) typed.words.push_back(word);
    found.push_back(typed);
  }
  return found;
}

std::string base_name(const std::string& path) { return path.substr(path.rfind('/') + 1); }

// Checks a typed `foundling …` or `foundlingd …` against the built program's own help page.
void check_against_help(const Typed& typed) {
  const bool recorder = base_name(typed.words[0]) == "foundlingd";
  std::string command;
  const std::vector<std::string> known = listed_commands(run_foundling("--help").out);
  if (!recorder && typed.words.size() > 1 && typed.words[1].front() != '-') {
    command = typed.words[1];
    CHECK(std::find(known.begin(), known.end(), command) != known.end());
    const std::vector<std::string> nested = listed_commands(run_foundling(command + " --help").out);
    if (typed.words.size() > 2 &&
        std::find(nested.begin(), nested.end(), typed.words[2]) != nested.end()) {
      command += " " + typed.words[2];
    }
  }
  const std::string page =
      recorder ? run_foundlingd("--help").out : run_foundling(command + " --help").out;
  for (const std::string& word : typed.words) {
    if (word.compare(0, 2, "--") != 0) continue;
    CAPTURE(word);
    CHECK(page.find(word.substr(0, word.find('='))) != std::string::npos);
  }
}

}  // namespace

TEST_CASE("every command that the pages tell a person to type exists, with its options") {
  std::size_t checked = 0;
  for (const std::string& page : all_files()) {
    if (!page.ends_with(".md")) continue;
    for (const Typed& typed : commands_in(page)) {
      CAPTURE(typed.place);
      REQUIRE_FALSE(typed.words.empty());
      const std::string program = base_name(typed.words[0]);
      if (program == "foundling" || program == "foundlingd") {
        check_against_help(typed);
        ++checked;
      } else if (typed.words[0].compare(0, 6, "tools/") == 0) {
        CHECK(
            std::filesystem::exists(std::filesystem::path(FOUNDLING_SOURCE_DIR) / typed.words[0]));
        ++checked;
      }
    }
  }
  CHECK(checked >= 40);
}

TEST_CASE("links between the pages lead somewhere") {
  for (const std::string& file : all_files()) {
    if (file.size() < 3 || file.substr(file.size() - 3) != ".md") continue;
    const std::string text = text_of(file);
    for (std::size_t at = 0; (at = text.find("](", at)) != std::string::npos; ++at) {
      std::string target = text.substr(at + 2, text.find(')', at) - at - 2);
      target = target.substr(0, target.find('#'));
      if (target.empty() || target.find("://") != std::string::npos) continue;
      const std::filesystem::path from = std::filesystem::path(FOUNDLING_SOURCE_DIR) / file;
      CAPTURE(file);
      CAPTURE(target);
      CHECK(std::filesystem::exists(from.parent_path() / target));
    }
  }
}

TEST_CASE("the README says what can kill before it says what to type") {
  const std::string text = text_of("README.md");
  const std::size_t safety = text.find("## Safety");
  REQUIRE(safety != std::string::npos);
  CHECK(safety < text.find("```"));
  for (const char* word : {"insulated", "current-limited", "second person", "never transmits"}) {
    CAPTURE(word);
    CHECK(text.find(word) != std::string::npos);
  }
}

}  // namespace foundling::house
