// What holds for every map: the text says what the map says, formatting twice is formatting once,
// and hostile bytes never crash the parser.
#include <doctest/doctest.h>

#include <string>

#include "schemas/signals/format.h"
#include "schemas/signals/read.h"
#include "schemas/signals/write.h"
#include "tests/signals/random_edit.h"
#include "tests/signals/random_map.h"

using foundling::add_comments;
using foundling::below;
using foundling::describe;
using foundling::Document;
using foundling::document_of;
using foundling::format;
using foundling::Random;
using foundling::random_cases;
using foundling::random_map;
using foundling::read_signals;
using foundling::SignalMap;
using foundling::SignalText;

TEST_CASE("what is written from a map reads back as the same map") {
  for (std::uint64_t seed = 1; seed <= random_cases(2'000); ++seed) {
    CAPTURE(seed);
    Random random(seed);
    const SignalMap map = random_map(random);
    const std::string text = write_signals(map);
    const SignalText read = read_signals(text);
    REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "random", text));
    REQUIRE_MESSAGE(read.map == map, text);
    REQUIRE(read.document == document_of(map));
  }
}

TEST_CASE(
    "a tree with comments reads back as the same tree, and formatting again changes nothing") {
  for (std::uint64_t seed = 1; seed <= random_cases(2'000); ++seed) {
    CAPTURE(seed);
    Random random(seed);
    Document document = document_of(random_map(random));
    add_comments(document, random);
    const std::string text = format(document);
    const SignalText read = read_signals(text);
    REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "random", text));
    REQUIRE_MESSAGE(read.document == document, text);
    REQUIRE(format(read.document) == text);
  }
}

TEST_CASE("a damaged map is reported, or reads as a map that formats to a fixed point") {
  for (std::uint64_t seed = 1; seed <= random_cases(2'000); ++seed) {
    CAPTURE(seed);
    Random random(seed);
    std::string text = write_signals(random_map(random));
    for (std::uint64_t i = below(random, 4) + 1; i > 0 && !text.empty(); --i) {
      const std::size_t at = below(random, text.size());
      switch (below(random, 3)) {
        case 0:
          text.erase(at, below(random, 8) + 1);
          break;
        case 1:
          text[at] = static_cast<char>(below(random, 256));
          break;
        default:
          text.insert(at, text.substr(below(random, text.size()), below(random, 30)));
      }
    }
    const SignalText read = read_signals(text);
    (void)describe(read.diagnostics, "damaged", text);
    if (!read.ok()) continue;
    const std::string once = format(read.document);
    const SignalText again = read_signals(once);
    REQUIRE_MESSAGE(again.ok(), describe(again.diagnostics, "formatted", once));
    REQUIRE(again.document == read.document);
    REQUIRE(again.map == read.map);
    REQUIRE(format(again.document) == once);
  }
}
