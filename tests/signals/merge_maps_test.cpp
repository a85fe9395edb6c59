// Merging two people's maps: by hand-written cases, and by what has to hold for all of them.
#include "schemas/signals/merge_maps.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "schemas/signals/format.h"
#include "schemas/signals/read.h"
#include "schemas/signals/write.h"
#include "tests/signals/random_edit.h"
#include "tests/signals/random_map.h"

using namespace foundling;

namespace {

Document read_good(const std::string& text) {
  SignalText read = read_signals(text);
  REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "test", text));
  return read.document;
}

struct Outcome {
  std::string text;
  bool conflict = false;
};

Outcome merged(const std::string& base, const std::string& ours, const std::string& theirs) {
  const MergedMaps result = merge_maps(read_good(base), read_good(ours), read_good(theirs));
  const std::string text = format(result.document);
  CHECK(read_good(text) == result.document);
  return {text, result.has_conflicts()};
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

const std::string base = R"(foundling signals 1

# the tractor's board
message 1A4 every 20 ms length 8
  signal pack_current
    bits 0.7..1.0 signed  # two bytes
    value = raw * 0.1 A
    status proposed
    seen one.capture session 1: scale 0.1001
  signal pack_voltage
    bits 2.7..3.0
    value = raw * 0.1 V
    status proposed

message 2C1
  signal temp_1
    bits 0.7..0.0
    value = raw - 40 °C
)";

}  // namespace

TEST_CASE("edits of different lines come together, comments too") {
  const std::string ours = replaced(replaced(base, "0.1 A", "0.05 A"), "message 2C1",
                                    "# seen at the charger\nmessage 2C1 length 8");
  const std::string theirs = replaced(replaced(base, "# two bytes", "# high byte first"),
                                      "message 2C1\n", "message 2C1 every 1000 ms  # slow\n");
  const Outcome outcome = merged(base, ours, theirs);
  CHECK_FALSE(outcome.conflict);
  CHECK(outcome.text ==
        replaced(replaced(replaced(base, "0.1 A", "0.05 A"), "# two bytes", "# high byte first"),
                 "message 2C1",
                 "# seen at the charger\nmessage 2C1 every 1000 ms length 8  # slow"));
}

TEST_CASE("a line that both changed stays ours, with theirs beside it") {
  const Outcome outcome = merged(base, replaced(base, "raw * 0.1 A", "raw * 0.05 A"),
                                 replaced(base, "raw * 0.1 A", "raw * 0.2 A"));
  CHECK(outcome.conflict);
  CHECK(outcome.text == replaced(base, "    value = raw * 0.1 A\n",
                                 "    value = raw * 0.05 A\n"
                                 "    # conflict: theirs: value = raw * 0.2 A\n"));
}

TEST_CASE("a signal confirmed on one side keeps its lines, whichever side it is") {
  const std::string confirmed = replaced(base, "status proposed", "status confirmed");
  std::string changed = replaced(base, "raw * 0.1 A", "raw * 0.2 A");
  changed = replaced(changed, "scale 0.1001", "scale 0.1001\n    seen two.capture session 1: weak");
  const std::string expected =
      replaced(replaced(base, "status proposed", "status confirmed"), "scale 0.1001\n",
               "scale 0.1001\n    seen two.capture session 1: weak\n"
               "    # found otherwise: bits 0.7..1.0 signed, value = raw * 0.2 A (one.capture "
               "session 1)\n");
  CHECK(merged(base, confirmed, changed).text == expected);
  CHECK(merged(base, changed, confirmed).text == expected);
  CHECK_FALSE(merged(base, changed, confirmed).conflict);
}

TEST_CASE("one renames a signal, the other corrects it") {
  const Outcome outcome = merged(base, replaced(base, "signal pack_current", "signal shunt"),
                                 replaced(base, "raw * 0.1 A", "raw * 0.05 A"));
  CHECK_FALSE(outcome.conflict);
  CHECK(outcome.text == replaced(replaced(base, "signal pack_current", "signal shunt"),
                                 "raw * 0.1 A", "raw * 0.05 A"));
}

TEST_CASE("what one deleted and the other changed stays, and says so") {
  const std::string voltage =
      "  signal pack_voltage\n    bits 2.7..3.0\n    value = raw * 0.1 V\n    status proposed\n";
  const std::string without = replaced(base, voltage, "");
  CHECK(merged(base, without, base).text == without);
  const Outcome outcome = merged(base, without, replaced(base, "0.1 V", "0.2 V"));
  CHECK(outcome.conflict);
  CHECK(outcome.text.find("value = raw * 0.2 V\n    status proposed\n"
                          "    # conflict: ours deleted this\n") != std::string::npos);
}

TEST_CASE("a comment that one side changed and the other deleted stays, and leaves no empty one") {
  const std::string changed = replaced(base, "# two bytes", "# two bytes, high one first");
  const std::string deleted = replaced(base, "  # two bytes", "");
  CHECK(merged(base, changed, deleted).text == changed);
  CHECK(merged(base, deleted, changed).text.find("# two bytes, high one first") !=
        std::string::npos);
}

TEST_CASE("two signals added in the same bits: ours stands, theirs is kept as comments") {
  const std::string ours = base + "  signal coolant\n    bits 1.7..1.0\n";
  const std::string theirs = base + "  signal motor  # guess\n    bits 1.7..2.0\n";
  const Outcome outcome = merged(base, ours, theirs);
  CHECK(outcome.conflict);
  CHECK(outcome.text == ours +
                            "  # conflict: theirs does not fit here:\n"
                            "  #   signal motor  # guess\n"
                            "  #     bits 1.7..2.0\n");
}

TEST_CASE("signals added at one place come in the same order, whoever merges") {
  const std::string ours = base + "  signal motor\n    bits 1.7..1.0\n";
  const std::string theirs = base + "  # ambient\n  signal air\n    bits 2.7..2.0\n";
  const Outcome outcome = merged(base, ours, theirs);
  CHECK_FALSE(outcome.conflict);
  CHECK(outcome.text == merged(base, theirs, ours).text);
  CHECK(outcome.text == base +
                            "  # ambient\n  signal air\n    bits 2.7..2.0\n"
                            "  signal motor\n    bits 1.7..1.0\n");
}

TEST_CASE("points that both added to a table go upwards") {
  const std::string table = R"(foundling signals 1

message 2C1
  signal temp_1
    bits 0.7..0.0
    value = table °C
    point 0 = -40
    point 200 = 125
)";
  const std::string ours =
      replaced(table, "point 200", "point 50 = 0\n    point 150 = 60\n    point 200");
  const std::string theirs = replaced(table, "point 200", "point 100 = 25\n    point 200");
  const Outcome outcome = merged(table, ours, theirs);
  CHECK_FALSE(outcome.conflict);
  CHECK(outcome.text.find("point 50 = 0\n    point 100 = 25\n    point 150 = 60\n") !=
        std::string::npos);
}

TEST_CASE("without a common map all that only one has is taken") {
  const std::string nothing = "foundling signals 1\n";
  const std::string other =
      "foundling signals 1\n\nmessage 300\n  signal speed\n    bits 0.7..1.0\n";
  const Outcome outcome = merged(nothing, base, other);
  CHECK_FALSE(outcome.conflict);
  CHECK(outcome.text.find("signal temp_1") != std::string::npos);
  CHECK(outcome.text.find("signal speed") != std::string::npos);
  CHECK(merged(nothing, base, replaced(base, "0.1 V", "0.2 V")).conflict);
}

namespace {

Document random_document(Random& random) {
  Document document = document_of(random_map(random));
  add_comments(document, random);
  return document;
}

// A comment may go only where one side took it away from what both began with, and the other left
// its line alone. Of comments with one text each side may have taken away another.
void require_comments(const Document& result, const Document& old, const Document& ours,
                      const Document& theirs) {
  const std::vector<std::string> before = comments_of(old);
  const std::vector<std::string> us = comments_of(ours);
  const std::vector<std::string> them = comments_of(theirs);
  std::string all;
  for (const std::string& comment : comments_of(result)) all += comment + '\n';
  for (const std::vector<std::string>* side : {&us, &them}) {
    const std::vector<std::string>& other = side == &us ? them : us;
    for (const std::string& comment : *side) {
      const bool added = std::ranges::find(before, comment) == before.end();
      const auto kept = std::ranges::count(*side, comment);
      const bool in_both =
          kept >= std::ranges::count(before, comment) && std::ranges::count(other, comment) >= kept;
      if (added || in_both) REQUIRE_MESSAGE(all.find(comment) != std::string::npos, comment);
    }
  }
}

struct Settled {
  std::string line;
  std::vector<std::string> facts;
};

// Signals that are confirmed or refuted, with the lines that say what they are.
std::vector<Settled> settled(const Document& document) {
  std::vector<Settled> all;
  for (const Node& message : document.nodes) {
    for (const Node& signal : message.children) {
      Settled one{format(Document{{}, {Node{signal.fact, {}, {}, {}, {}}}}), {}};
      bool is_settled = false;
      for (const Node& line : signal.children) {
        const bool about = std::holds_alternative<fact::Note>(line.fact) ||
                           std::holds_alternative<fact::Comment>(line.fact) ||
                           std::holds_alternative<fact::Blank>(line.fact) ||
                           std::holds_alternative<Evidence>(line.fact);
        if (about) continue;
        one.facts.push_back(format(Document{{}, {Node{line.fact, {}, {}, {}, {}}}}));
        const auto* status = std::get_if<fact::StatusLine>(&line.fact);
        is_settled |= status != nullptr && status->status != Status::proposed;
      }
      std::ranges::sort(one.facts);
      if (is_settled) all.push_back(std::move(one));
    }
  }
  return all;
}

const Settled* find(const std::vector<Settled>& all, const Settled& wanted) {
  const auto at = std::ranges::find(all, wanted.line, &Settled::line);
  return at == all.end() ? nullptr : &*at;
}

}  // namespace

TEST_CASE("merging with an unchanged side is the other side, and with oneself oneself") {
  for (std::uint64_t seed = 1; seed <= random_cases(400); ++seed) {
    CAPTURE(seed);
    Random random(seed);
    const Document old = random_document(random);
    const Document changed = below(random, 3) == 0
                                 ? random_document(random)
                                 : edited(old, random, [](std::size_t /*any*/) { return true; });
    REQUIRE(merge_maps(old, old, changed).document == changed);
    REQUIRE(merge_maps(old, changed, old).document == changed);
    REQUIRE(merge_maps(old, changed, changed).document == changed);
    REQUIRE(merge_maps({}, changed, changed).document == changed);
    REQUIRE_FALSE(merge_maps(old, old, changed).has_conflicts());
  }
}

TEST_CASE("edits of different signals commute and do not conflict") {
  std::size_t edits = 0;
  for (std::uint64_t seed = 1; seed <= random_cases(400); ++seed) {
    CAPTURE(seed);
    Random random(seed);
    const Document old = random_document(random);
    const Document ours = edited(old, random, [](std::size_t n) { return n % 2 == 0; });
    const auto odd = [](std::size_t n) { return n % 2 == 1; };
    const Document theirs = edited(old, random, odd, false);  // an order is one thing for all
    const MergedMaps one = merge_maps(old, ours, theirs);
    const MergedMaps other = merge_maps(old, theirs, ours);
    if (one.has_conflicts()) continue;  // both gave a signal the same new name, or reordered
    if (!(ours == old) && !(theirs == old)) ++edits;
    REQUIRE(reads_back(one.document));
    const std::string all = format(old) + "--- ours\n" + format(ours) + "--- theirs\n" +
                            format(theirs) + "--- one\n" + format(one.document) + "--- other\n" +
                            format(other.document);
    REQUIRE_MESSAGE(one.document == other.document, all);
  }
  CHECK(edits * 10 > random_cases(400) * 2);
}

TEST_CASE("whatever is merged has no fault, loses no comment and changes nothing confirmed") {
  for (std::uint64_t seed = 1; seed <= random_cases(400); ++seed) {
    CAPTURE(seed);
    Random random(seed);
    const auto all = [](std::size_t /*any*/) { return true; };
    const Document old = below(random, 4) == 0 ? Document{} : random_document(random);
    const bool apart = old.nodes.empty() || below(random, 8) == 0;
    const Document ours = apart ? random_document(random) : edited(old, random, all);
    const Document theirs = apart ? edited(ours, random, all) : edited(old, random, all);
    const MergedMaps merged = merge_maps(old, ours, theirs);
    REQUIRE_MESSAGE(reads_back(merged.document), format(merged.document));
    require_comments(merged.document, old, ours, theirs);
    // Confirmed on one side only, or on both alike: as it was there.
    const std::vector<Settled> before = settled(old);
    const std::vector<Settled> us = settled(ours);
    const std::vector<Settled> them = settled(theirs);
    const std::vector<Settled> now = settled(merged.document);
    for (const Settled& signal : us) {
      const Settled* other = find(them, signal);
      // What was confirmed before may have been edited, on purpose, by either.
      if (find(before, signal) != nullptr) continue;
      if (std::ranges::find(before, signal.facts, &Settled::facts) != before.end()) continue;
      if (other != nullptr && other->facts != signal.facts) continue;
      const Settled* still = find(now, signal);
      if (still == nullptr) continue;  // renamed by the other side
      const std::string text = format(old) + "--- ours\n" + format(ours) + "--- theirs\n" +
                               format(theirs) + "--- merged\n" + format(merged.document);
      REQUIRE_MESSAGE(still->facts == signal.facts, text);
    }
    // Merging their map once more brings nothing new.
    REQUIRE(merge_maps(theirs, merged.document, theirs).document == merged.document);
  }
}
