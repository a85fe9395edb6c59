// The words that screens and documents keep to: the table under "Words" in DEVELOPERS.md.
#include <doctest/doctest.h>

#include <algorithm>
#include <cctype>

#include "tests/house/source_tree.h"

namespace foundling::house {
namespace {

std::string lower(std::string text) {
  std::ranges::transform(text, text.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

// The second column of the table: phrases apart by semicolons.
std::vector<std::string> forbidden_phrases() {
  std::vector<std::string> phrases;
  bool within = false;
  for (const SourceLine& line : lines_of("DEVELOPERS.md")) {
    if (line.text.starts_with("## ")) within = line.text == "## Words";
    if (!within || !line.text.starts_with("| ") || line.text.starts_with("| say ")) continue;
    const std::size_t second = line.text.find('|', 1) + 1;
    std::string cell = line.text.substr(second, line.text.find('|', second) - second) + ';';
    for (std::size_t end = 0; (end = cell.find(';')) != std::string::npos; cell.erase(0, end + 1)) {
      std::string phrase = cell.substr(0, end);
      phrase.erase(0, phrase.find_first_not_of(' '));
      phrase.erase(phrase.find_last_not_of(' ') + 1);
      if (!phrase.empty()) phrases.push_back(lower(phrase));
    }
  }
  return phrases;
}

// What stands between quotes, those that follow each other directly as one; comments left out.
std::string quoted(const std::string& file) {
  std::string text;
  for (const SourceLine& line : lines_of(file)) {
    const std::size_t comment = line.text.find("//");
    const std::string code =
        comment != std::string::npos && line.text.substr(0, comment).find('"') == std::string::npos
            ? line.text.substr(0, comment)
            : line.text;
    const std::size_t first = code.find('"');
    const std::size_t last = code.rfind('"');
    if (first == last) continue;
    text += code.substr(first + 1, last - first - 1);
    if (code.find_first_not_of(" \"", last) != std::string::npos) text += '\n';
  }
  return lower(text);
}

bool ends_with(const std::string& text, std::string_view end) { return text.ends_with(end); }

// What a person reads: strings of the programs and the page, and documents. The page on the
// analysis speaks of statistics, and the library's own phrases stand where they are replaced.
std::string shown_text(const std::string& file) {
  const bool ours = !file.starts_with("tests/") && file != "schemas/values/usage_words.cpp";
  if (!ours || file == "DEVELOPERS.md" || file == "decoder/analysis/README.md") return {};
  if (ends_with(file, ".md")) return lower(text_of(file));
  if (ends_with(file, ".cpp") || ends_with(file, ".h") || ends_with(file, ".js")) {
    return quoted(file);
  }
  return {};
}

}  // namespace

TEST_CASE("screens and documents keep to the list of words") {
  const std::vector<std::string> phrases = forbidden_phrases();
  REQUIRE(phrases.size() > 20);
  for (const std::string& file : all_files()) {
    const std::string text = shown_text(file);
    if (text.empty()) continue;
    for (const std::string& phrase : phrases) {
      if (text.find(phrase) != std::string::npos) FAIL_CHECK(file << " says \"" << phrase << '"');
    }
  }
}

TEST_CASE("pages are called multiplexed once beside, so that a search finds them") {
  for (const char* file : {"README.md", "schemas/signals/README.md"}) {
    CAPTURE(file);
    CHECK(text_of(file).find("multiplexed") != std::string::npos);
  }
}

}  // namespace foundling::house
