// What readings bear out of that which a map has by relation alone.
#include "decoder/decode/borne_out.h"

#include <doctest/doctest.h>

#include "schemas/signals/evidence_words.h"

using namespace foundling;

namespace {

const SessionIdentity tuesday{"tuesday.capture", 2, "00000000000000aa"};

SignalEntry entry(const std::string& name, const std::string& evidence) {
  SignalEntry out;
  out.name = name;
  out.span = *parse_span("0.7..1.0");
  out.unit = "V";
  out.seen = {{"monday.capture", 1, evidence}};
  return out;
}

SignalCheck checked(const std::string& name, bool pass, double largest = 0.002) {
  SignalCheck out;
  out.signal = out.channel = name;
  out.unit = "V";
  out.samples = 12;
  out.gain = 0.9995;
  out.largest = out.deciding = largest;
  out.tolerance = 0.01;
  out.pass = pass;
  return out;
}

SignalMap map_of(std::vector<SignalEntry> signals) {
  SignalMap map;
  MessageEntry& message = map.messages.emplace_back();
  message.id = CanId::standard(0x1A4);
  message.length = 8;
  message.signals = std::move(signals);
  return map;
}

SignalEntry series_of_three() {
  SignalEntry out = entry("cell", "3 members; the first: by relation, scale 0.001");
  out.numbers = Numbering{1, 3, 2};
  out.step = SpanStep{{.from = 1, .times = 16}, false};
  return out;
}

}  // namespace

TEST_CASE("what a relation gave and readings bear out is named, with evidence of its own") {
  const SignalMap map = map_of({entry("pack_voltage", "by relation, scale 0.1")});
  const BorneOut found = borne_out(map, {{checked("pack_voltage", true)}, {}, {}}, tuesday);
  CHECK(found.signals == std::vector<std::string>{"pack_voltage"});
  REQUIRE(found.findings.messages.size() == 1);
  const SignalEntry& written = found.findings.messages[0].signals.at(0);
  REQUIRE(written.seen.size() == 1);
  CHECK(written.seen[0].source == "tuesday.capture");
  CHECK(written.seen[0].session == 2);
  CHECK(written.seen[0].text ==
        "checked against readings, 12 readings, gain 0.9995, largest error 0.002 of 0.01 V, "
        "digest 00000000000000aa");
  CHECK(written.status == Status::proposed);
}

TEST_CASE("what fails, was found by a stimulus or is confirmed already is not borne out anew") {
  SignalMap map = map_of({entry("a", "by relation"), entry("b", "strong, scale 1"),
                          entry("c", "by relation"), entry("d", "by relation")});
  map.messages[0].signals[2].status = Status::confirmed;
  const MapCheck check{{checked("a", false), checked("b", true), checked("c", true)}, {}, {}};
  const BorneOut found = borne_out(map, check, tuesday);
  CHECK(found.signals.empty());
  CHECK(found.findings.messages.empty());
  CHECK(found.partly.empty());
}

TEST_CASE("a series is borne out by all its members, and the evidence is of the farthest off") {
  const SignalMap map = map_of({series_of_three()});
  MapCheck check{{checked("cell_01", true), checked("cell_02", true, 0.007)}, {}, {}};
  const BorneOut part = borne_out(map, check, tuesday);
  CHECK(part.signals.empty());
  CHECK(part.partly == std::vector<std::string>{"cell: 2 of 3 members"});
  check.signals.push_back(checked("cell_03", true));
  const BorneOut all = borne_out(map, check, tuesday);
  CHECK(all.signals == std::vector<std::string>{"cell_01", "cell_02", "cell_03"});
  CHECK(
      all.findings.messages.at(0).signals.at(0).seen.at(0).text.find(
          "all 3 members pass; the farthest off, 12 readings, gain 0.9995, largest error 0.007") !=
      std::string::npos);
}

TEST_CASE("the session that a map was made from bears nothing out") {
  const SignalMap map = map_of({entry("a", "by relation, " + digest_words(tuesday.digest))});
  CHECK(borne_out(map, {{checked("a", true)}, {}, {}}, tuesday).signals.empty());
}

TEST_CASE(
    "a signal borne out is by relation alone no longer, nor made from the session it passed") {
  SignalMap map = map_of({entry("a", "by relation, scale 0.1")});
  CHECK(only_by_relation(map.messages[0].signals[0]));
  const BorneOut found = borne_out(map, {{checked("a", true)}, {}, {}}, tuesday);
  auto& seen = map.messages[0].signals[0].seen;
  seen.push_back(found.findings.messages.at(0).signals.at(0).seen.at(0));
  CHECK_FALSE(only_by_relation(map.messages[0].signals[0]));
  CHECK_FALSE(made_from(map, tuesday));
  CHECK(borne_out(map, {{checked("a", true)}, {}, {}}, tuesday).signals.empty());
}
