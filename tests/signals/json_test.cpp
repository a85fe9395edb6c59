// A map as JSON and back, without loss.
#include <doctest/doctest.h>

#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "schemas/signals/format.h"
#include "schemas/signals/write.h"
#include "tests/signals/random_edit.h"
#include "tests/signals/random_map.h"
#include "tools/signals_json.h"

using namespace foundling;

namespace {

std::string refusal(const std::string& text) {
  const auto read = document_from_json(text, "a.json");
  REQUIRE_FALSE(read);
  return read.error().message;
}

std::string map_with(const std::string& lines) {
  return R"({"format":"foundling-map","version":1,"lines":[)" + lines + "]}";
}

// Every word in backticks.
std::set<std::string> marked_words(const std::string& text) {
  std::set<std::string> words;
  for (auto open = text.find('`'); open != std::string::npos; open = text.find('`', open + 1)) {
    const auto close = text.find('`', open + 1);
    if (close == std::string::npos) break;
    words.insert(text.substr(open + 1, close - open - 1));
    open = close;
  }
  return words;
}

// The facts of every kind of line, as the format's page has them.
std::map<std::string, std::set<std::string>> documented_facts() {
  std::ifstream page(FOUNDLING_SOURCE_DIR "/schemas/signals/README.md");
  std::map<std::string, std::set<std::string>> facts;
  bool inside = false;
  for (std::string line; std::getline(page, line);) {
    if (line.starts_with("## ")) inside = line == "## As JSON";
    if (!inside || !line.starts_with("| `")) continue;
    const auto bar = line.find('|', 1);
    for (const std::string& kind : marked_words(line.substr(0, bar))) {
      facts[kind] = marked_words(line.substr(bar));
    }
  }
  return facts;
}

void collect_facts(const nlohmann::json& lines,
                   std::map<std::string, std::set<std::string>>& facts) {
  for (const auto& line : lines) {
    auto& of_kind = facts[line["kind"].get<std::string>()];
    for (const auto& [name, value] : line.items()) {
      if (name != "kind" && name != "comment" && name != "lines") of_kind.insert(name);
    }
    if (line.contains("lines")) collect_facts(line["lines"], facts);
  }
}

}  // namespace

TEST_CASE("the format's page names every kind of line and every fact that is written as JSON") {
  const auto documented = documented_facts();
  std::map<std::string, std::set<std::string>> written;
  for (std::uint64_t seed = 1; seed <= 300; ++seed) {
    Random random(seed);
    Document document = document_of(random_map(random));
    add_comments(document, random);
    collect_facts(nlohmann::json::parse(json_of(document))["lines"], written);
  }
  for (const auto& [kind, facts] : documented) CHECK_MESSAGE(written.count(kind) == 1, kind);
  for (const auto& [kind, facts] : written) {
    REQUIRE_MESSAGE(documented.count(kind) == 1, kind);
    for (const std::string& fact : facts) {
      CHECK_MESSAGE(documented.at(kind).count(fact) == 1, kind, ": ", fact);
    }
  }
}

TEST_CASE("random maps with comments are the same after JSON and back") {
  for (std::uint64_t seed = 1; seed <= random_cases(1'000); ++seed) {
    CAPTURE(seed);
    Random random(seed);
    Document document = document_of(random_map(random));
    add_comments(document, random);
    const std::string json = json_of(document);
    const auto back = document_from_json(json, "random");
    REQUIRE_MESSAGE(back, json);
    REQUIRE(*back == document);
    REQUIRE(json_of(*back) == json);
  }
}

TEST_CASE("JSON that is no map is refused with its place") {
  CHECK(refusal("{\n  \"format\": }") == "a.json:2:13: expected JSON, found none");
  CHECK(refusal("{\n  \"version\": 1e999}") ==
        "a.json:2:14: expected a number that a double can hold");
  CHECK(refusal("{}").find("\"format\": \"foundling-map\"") != std::string::npos);
  CHECK(refusal(R"({"format":"foundling-map","version":2,"lines":[]})").find("version 1") !=
        std::string::npos);
  CHECK(refusal(map_with(R"({"kind":"bord","name":"a"})")).find("did you mean 'board'?") !=
        std::string::npos);
  CHECK(refusal(map_with(R"({"kind":"note","text":7})")).find("lines[0].text") !=
        std::string::npos);
  // What the text could not say: a line end in a note, a signal outside a message.
  CHECK(refusal(map_with(R"({"kind":"note","text":"one\ntwo"})")).find("says what no signal map") !=
        std::string::npos);
  CHECK(refusal(map_with(R"({"kind":"signal","name":"a"})")).find("says what no signal map") !=
        std::string::npos);
}

TEST_CASE("JSON nested without end is refused") {
  CHECK_FALSE(document_from_json(std::string(500'000, '['), "deep"));
  const std::string deep = std::string(200'000, '[') + std::string(200'000, ']');
  CHECK(refusal(deep) ==
        "a.json: expected a map as JSON (\"format\": \"foundling-map\"), found something else");
  CHECK(refusal("{\"format\":\"foundling-map\",\"version\":1,\"lines\":[" + deep + "]}") ==
        "a.json: lines[0]: expected an object, found a list");
}
