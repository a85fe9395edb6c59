// What two maps say differently, in words.
#include "schemas/signals/compare.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "schemas/signals/format.h"
#include "schemas/signals/read.h"
#include "schemas/signals/write.h"
#include "tests/signals/random_edit.h"
#include "tests/signals/random_map.h"

using namespace foundling;

namespace {

SignalMap map_of(const std::string& text) {
  SignalText read = read_signals(text);
  REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "test", text));
  return read.map;
}

std::vector<std::string> differences(const std::string& before, const std::string& after) {
  std::vector<std::string> lines;
  for (const MapChange& change : compare_maps(map_of(before), map_of(after))) {
    lines.push_back(to_text(change));
  }
  return lines;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

using Lines = std::vector<std::string>;

const std::string base = R"(foundling signals 1

board "orchard tractor"

message 1A4 every 20 ms length 8
  signal pack_current
    bits 0.7..1.0 signed
    value = raw * 0.1 A
  signal relay
    bits 2.1..2.0
    state 0 = open
    state 1 = closed
  counter bits 6.3..6.0 modulo 16

message 1B0 length 8
  selector page bits 0.7..0.0
  series cell 01..28
    on page (n - 1) div 3
    bits 2.7..1.0 + (n - 1) mod 3 * 2 bytes
    value = raw * 0.001 V
)";

}  // namespace

TEST_CASE("a map and itself, in other order, layout and comments, say the same") {
  CHECK(differences(base, base).empty());
  const std::string other = R"(foundling signals 1
# the same
message 1b0 length 8
selector sheet bits 0.7..0.0   # under another name
series cell 01..28
on sheet (n - 1) div 3
bits 2.7..1.0 + (n - 1) mod 3 * 2 bytes
value = raw * 1e-3 V
message 1A4 length 8 every 0.02 s
counter bits 6.3..6.0 modulo 16
signal relay
bits 2.1..2.0
state 1 = closed
state 0 = open
signal pack_current
bits 0.7..1.0 signed
value = raw * 0.10 A
board "orchard tractor"
)";
  // The selector's name is a means; it is said of the message alone.
  CHECK(differences(base, other) == Lines{"message 1B0 selector sheet added: bits 0.7..0.0",
                                          "message 1B0 selector page removed: bits 0.7..0.0"});
}

TEST_CASE("a change is said by meaning: which signal, which fact, before and after") {
  CHECK(differences(base, replaced(base, "raw * 0.1 A", "raw * 0.05 A")) ==
        Lines{"pack_current scale 0.1 → 0.05"});
  CHECK(differences(base, replaced(base, "raw * 0.1 A", "raw * 0.1 - 5 A")) ==
        Lines{"pack_current offset 0 → -5"});
  CHECK(differences(base, replaced(base, "bits 0.7..1.0 signed", "bits 1.7..0.0")) ==
        Lines{"pack_current bits 0.7..1.0 → 1.7..0.0", "pack_current type signed → unsigned"});
  CHECK(differences(base, replaced(base, "state 1 = closed", "state 2 = closed")) ==
        Lines{"relay state 2 added: closed", "relay state 1 removed: closed"});
  CHECK(differences(base, replaced(base, "every 20 ms", "every 25 ms")) ==
        Lines{"message 1A4 period 20 ms → 25 ms"});
  CHECK(differences(base, replaced(base, "modulo 16", "modulo 15")) ==
        Lines{"message 1A4 counter 6.3..6.0 bits 6.3..6.0 modulo 16 → bits 6.3..6.0 modulo 15"});
  CHECK(differences(base, replaced(base, "orchard tractor", "vineyard tractor")) ==
        Lines{"the map board orchard tractor → vineyard tractor"});
}

TEST_CASE("a renamed signal is known by its place") {
  CHECK(differences(base, replaced(base, "signal pack_current", "signal shunt")) ==
        Lines{"pack_current is now shunt"});
}

TEST_CASE("what holds for all members of a series is said once") {
  CHECK(differences(base, replaced(base, "raw * 0.001 V", "raw * 0.0001 V")) ==
        Lines{"cell_01..cell_28 scale 0.001 → 0.0001"});
  CHECK(differences(base, replaced(base, "01..28", "01..26")) ==
        Lines{"cell_27..cell_28 removed: message 1B0 6.7..5.0 unsigned on page 0.7..0.0 = 8, "
              "scale 0.001, offset 0, unit V"});
}

TEST_CASE("a series and its members one by one say the same") {
  const std::string head =
      "foundling signals 1\n\nmessage 1B0 length 8\n  selector page bits 0.7..0.0\n";
  const std::string series = head +
                             "  series cell 1..2\n    on page 3\n"
                             "    bits 2.7..1.0 + (n - 1) * 2 bytes\n    value = raw * 0.001 V\n";
  const std::string apart = head +
                            "  signal cell_1\n    on page 3\n    bits 2.7..1.0\n"
                            "    value = raw * 0.001 V\n"
                            "  signal cell_2\n    on page 3\n    bits 4.7..3.0\n"
                            "    value = raw * 0.001 V\n";
  CHECK(differences(series, apart).empty());
}

TEST_CASE("random maps differ from themselves in nothing, and from edits by name or not at all") {
  const auto all = [](std::size_t /*any*/) { return true; };
  for (std::uint64_t seed = 1; seed <= random_cases(300); ++seed) {
    CAPTURE(seed);
    Random random(seed);
    Document document = document_of(random_map(random));
    add_comments(document, random);
    const SignalMap before = map_of(format(document));
    REQUIRE(compare_maps(before, before).empty());
    const SignalMap after = map_of(format(edited(document, random, all, false)));
    const auto there = compare_maps(before, after);
    const auto back = compare_maps(after, before);
    REQUIRE(there.empty() == back.empty());
    if (before == after) REQUIRE(there.empty());
  }
}
