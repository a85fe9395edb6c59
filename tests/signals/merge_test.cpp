#include "schemas/signals/merge.h"

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

SignalText read_good(const std::string& text) {
  SignalText read = read_signals(text);
  REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "test", text));
  return read;
}

std::string merged(const std::string& base, const std::string& findings) {
  const Merged result = merge_findings(read_good(base).document, read_good(findings).map);
  std::string text = format(result.document);
  (void)read_good(text);
  // The same findings again change nothing.
  CHECK(format(merge_findings(result.document, read_good(findings).map).document) == text);
  return text;
}

const std::string found = R"(foundling signals 1

message 1A4 every 20 ms length 8
  signal pack_current
    bits 0.7..1.0 signed
    value = raw * 0.1 A
    status proposed
    seen second.capture session 2: strong, scale 0.1001
)";

}  // namespace

TEST_CASE("an empty map takes all that was found") {
  CHECK(merged("foundling signals 1\n", found) == found);
}

TEST_CASE("a proposal is brought up to date in place and keeps what a person wrote") {
  const std::string base = R"(foundling signals 1

# my board
message 1A4 every 20 ms length 8
  signal pack_current  # the shunt
    # first try
    bits 0.7..1.0  # unsigned?
    value = raw * 0.2 A
    reserved 0x7FFF not-available
    status proposed
    note measured at the shunt leads
    seen first.capture session 1: weak
  # to do: the voltage
)";
  CHECK(merged(base, found) == R"(foundling signals 1

# my board
message 1A4 every 20 ms length 8
  signal pack_current  # the shunt
    # first try
    bits 0.7..1.0 signed  # unsigned?
    value = raw * 0.1 A
    reserved 0x7FFF not-available
    status proposed
    note measured at the shunt leads
    seen first.capture session 1: weak
    seen second.capture session 2: strong, scale 0.1001
  # to do: the voltage
)");
}

TEST_CASE("a blank line between a table's points does not end up behind the signal") {
  const std::string base = R"(foundling signals 1

message 2C1 length 8
  signal coolant
    bits 5.7..4.0
    value = table °C

    point 0 = -40
    point 1000 = 125
)";
  const SignalText read = read_good(base);
  const Merged result = merge_findings(read.document, read.map);
  CHECK(read_good(format(result.document)).document == result.document);
}

TEST_CASE("a confirmed signal stays, and what contradicts it is shown beside it with the figures") {
  const std::string base = R"(foundling signals 1

message 1A4 every 20 ms length 8
  signal pack_current
    bits 0.7..1.0 signed
    value = raw * 0.2 A
    status confirmed
)";
  CHECK(merged(base, found) == base +
                                   "    # found otherwise: bits 0.7..1.0 signed, value = raw * 0.1 "
                                   "A (second.capture session 2)\n");
}

TEST_CASE("a confirmed signal found again only gains the evidence") {
  const std::string base = R"(foundling signals 1

message 1A4 every 20 ms length 8
  signal pack_current
    bits 0.7..1.0 signed
    value = raw * 0.1 A
    status confirmed
)";
  CHECK(merged(base, found) == base + "    seen second.capture session 2: strong, scale 0.1001\n");
}

TEST_CASE("a table found again within a hundredth of its range agrees, another one is shown") {
  const std::string head =
      "foundling signals 1\n\nmessage 2B0 length 8\n  signal temp_1\n"
      "    bits 0.7..1.0\n    value = table °C\n";
  const std::string base = head + "    point 0 = 100\n    point 1000 = 0\n    status confirmed\n";
  const auto finding = [&](const std::string& middle) {
    return head + "    point 100 = 90.5\n    point 500 = " + middle +
           "\n    point 900 = 10\n    seen b.capture session 1: strong, a table\n";
  };
  CHECK(merged(base, finding("50.7")) == base + "    seen b.capture session 1: strong, a table\n");
  CHECK(merged(base, finding("55")) ==
        base +
            "    # found otherwise: bits 0.7..1.0, value = table °C of 3 points (b.capture "
            "session 1)\n");
  // A line that a person confirmed, and points that are not on it.
  const std::string line =
      "foundling signals 1\n\nmessage 2B0 length 8\n  signal temp_1\n"
      "    bits 0.7..1.0\n    value = raw * -0.1 + 100 °C\n    status "
      "confirmed\n";
  CHECK(merged(line, finding("55")).find("# found otherwise") != std::string::npos);
  CHECK(merged(line, finding("50.7")).find("# found otherwise") == std::string::npos);
}

TEST_CASE("a refuted signal found again at its place is not proposed again") {
  const std::string base = R"(foundling signals 1

message 1A4 every 20 ms length 8
  signal pack_current
    bits 0.7..1.0 signed
    value = raw * 0.1 A
    status refuted
)";
  CHECK(merged(base, found) == base);
}

TEST_CASE("a signal that a person renamed is known by its place") {
  const std::string base = R"(foundling signals 1

message 1A4 every 20 ms length 8
  signal shunt
    bits 0.7..1.0 signed
    value = raw * 0.3 A
    status proposed
)";
  const std::string result = merged(base, found);
  CHECK(result.find("signal shunt\n    bits 0.7..1.0 signed\n    value = raw * 0.1 A") !=
        std::string::npos);
  CHECK(result.find("signal pack_current") == std::string::npos);
}

TEST_CASE("a finding in bits that another signal has becomes a comment, not a fault") {
  const std::string base = R"(foundling signals 1

message 1A4 every 20 ms length 8
  signal other
    bits 1.3..2.0
    status proposed
)";
  const std::string result = merged(base, found);
  CHECK(result.find("# found pack_current: bits 0.7..1.0 signed") != std::string::npos);
  CHECK(result.find("signal pack_current") == std::string::npos);
}

TEST_CASE("a found series meets a map that has its members one by one") {
  const std::string base = R"(foundling signals 1

message 1B0 length 8
  selector group bits 0.7..0.0
  signal cell_02
    on group 0
    bits 3.7..4.0
    value = raw * 0.001 V
    status confirmed
)";
  const std::string series = R"(foundling signals 1

message 1B0 every 50 ms length 8
  selector page bits 0.7..0.0 values 0..1
  series cell 01..04
    on page (n - 1) div 2
    bits 1.7..2.0 + (n - 1) mod 2 * 2 bytes
    value = raw * 0.001 V
    status proposed
)";
  const std::string result = merged(base, series);
  CHECK(result.find("signal cell_01\n    on group 0\n    bits 1.7..2.0") != std::string::npos);
  CHECK(result.find("signal cell_04\n    on group 1\n    bits 3.7..4.0") != std::string::npos);
  CHECK(result.find("signal cell_02\n    on group 0\n    bits 3.7..4.0\n    value = raw * 0.001 V\n"
                    "    status confirmed") != std::string::npos);
  CHECK(result.find("every 50 ms") != std::string::npos);
}

namespace {

void collect_comments(const std::vector<Node>& nodes, std::vector<std::string>& all) {
  for (const Node& node : nodes) {
    if (const auto* comment = std::get_if<fact::Comment>(&node.fact)) all.push_back(comment->text);
    if (!node.comment.empty()) all.push_back(node.comment);
    collect_comments(node.children, all);
  }
}

void collect_confirmed(const std::vector<Node>& nodes, std::vector<Node>& all) {
  for (const Node& node : nodes) {
    for (const Node& line : node.children) {
      const auto* status = std::get_if<fact::StatusLine>(&line.fact);
      if (status != nullptr && status->status != Status::proposed) all.push_back(node);
    }
    collect_confirmed(node.children, all);
  }
}

bool keeps_lines(const Node& old, const std::vector<Node>& now) {
  return std::ranges::any_of(now, [&old](const Node& node) {
    return node.fact == old.fact && std::ranges::all_of(old.children, [&node](const Node& line) {
             return std::ranges::find(node.children, line) != node.children.end();
           });
  });
}

}  // namespace

TEST_CASE(
    "merging random findings leaves no fault, loses no comment and changes nothing confirmed") {
  for (std::uint64_t seed = 1; seed <= random_cases(400); ++seed) {
    CAPTURE(seed);
    Random random(seed);
    const SignalMap map = random_map(random);
    Document base = document_of(map);
    add_comments(base, random);
    // Findings about the same messages: the map itself with some scales and places changed.
    SignalMap findings = below(random, 2) == 0 ? map : random_map(random);
    for (MessageEntry& message : findings.messages) {
      for (SignalEntry& entry : message.signals) {
        entry.status = Status::proposed;
        if (below(random, 2) == 0) entry.scale *= 1.5;
        if (below(random, 4) == 0) entry.name += "x";
      }
    }
    const Merged result = merge_findings(base, findings);
    const std::string text = format(result.document);
    const SignalText read = read_signals(text);
    REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "merged", text));
    std::vector<std::string> before;
    std::vector<std::string> after;
    collect_comments(base.nodes, before);
    collect_comments(result.document.nodes, after);
    for (const std::string& comment : before) {
      REQUIRE(std::ranges::count(after, comment) >= std::ranges::count(before, comment));
    }
    std::vector<Node> confirmed;
    std::vector<Node> still;
    collect_confirmed(base.nodes, confirmed);
    collect_confirmed(result.document.nodes, still);
    for (const Node& node : confirmed) REQUIRE(keeps_lines(node, still));
  }
}
