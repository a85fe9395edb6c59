// The JSON that other programs read: names, types and nulls.
#include <doctest/doctest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "decoder/report/proposals_report.h"
#include "decoder/report/survey_report.h"

using namespace foundling;
using nlohmann::json;

namespace {

Proposal current() {
  Proposal p;
  p.channel = "pack_current";
  p.unit = "A";
  p.place = {0, CanId::extended(0x18FF50E5), Page{{{0, 7}, {0, 0}}, 3}, {{1, 7}, {2, 0}}};
  p.is_signed = true;
  p.scale = 0.1;
  p.scale_interval = {0.0999, 0.1001};
  p.same_as.push_back({0, CanId::standard(0x1A4), {}, {{0, 7}, {0, 0}}});
  p.verdict = Verdict::strong;
  p.untested_high_bits = 2;
  p.time_constant_s = 0.25;
  return p;
}

json schema(const std::string& name) {
  std::ifstream file(std::string(FOUNDLING_SOURCE_DIR) + "/schemas/" + name + ".schema.json");
  return json::parse(file);
}

// The items of a part's member, looked up where the schema refers to a definition of its own.
json items_of(const json& published, const json& part, const std::string& member) {
  const json& items = part.at("properties").at(member).at("items");
  if (!items.contains("$ref")) return items;
  return published.at(json::json_pointer(items.at("$ref").get<std::string>().substr(1)));
}

// What the schema calls required is there, and what is there the schema knows.
void check_names(const json& object, const json& part, bool closed) {
  for (const auto& name : part.at("required")) {
    CAPTURE(name);
    CHECK(object.contains(name.get<std::string>()));
  }
  for (const auto& item : object.items()) {
    if (!closed) break;
    CAPTURE(item.key());
    CHECK(part.at("properties").contains(item.key()));
  }
}

}  // namespace

TEST_CASE("the published schema names what proposals carry, and they carry what it names") {
  Correlation c;
  c.proposals.push_back(current());
  const json j = json::parse(proposals_json(c));
  const json published = schema("proposals");
  check_names(j, published, true);
  const json item = items_of(published, published, "proposals");
  check_names(j.at("proposals").at(0), item, true);
  check_names(j.at("proposals").at(0).at("same_as").at(0), items_of(published, item, "same_as"),
              true);
}

TEST_CASE("the published schema names what is said of open channels and unfit readings") {
  Correlation c;
  c.unanswered.push_back({"cell_03", "a", Unanswered::Nearest{current().place, 12, 5}, "b"});
  c.unfit_readings.push_back({97, "cell_01", "V", 48'200'000'000, 34.56, 3.456});
  const json j = json::parse(proposals_json(c));
  const json published = schema("proposals");
  const json channel = items_of(published, published, "unanswered");
  check_names(j.at("unanswered").at(0), channel, true);
  check_names(j.at("unanswered").at(0).at("nearest"), channel.at("properties").at("nearest"), true);
  check_names(j.at("unfit_readings").at(0), items_of(published, published, "unfit_readings"), true);
}

TEST_CASE("open channels and unfit readings are always there, with the agreed names and types") {
  Correlation c;
  json j = json::parse(proposals_json(c));
  CHECK(j.at("unanswered") == json::array());
  CHECK(j.at("unfit_readings") == json::array());
  c.unanswered = {{"cell_03", "why", Unanswered::Nearest{current().place, 12, 5}, "step it"},
                  {"oil", "no", {}, ""}};
  UnfitReading slip{97, "cell_01", "V", 48'200'000'000, 34.56, 3.4561};
  slip.kind = Slip::factor_10;
  UnfitReading word{98, "key", "state", 500'000'000, 0, 0, "open", "closed"};
  word.kind = Slip::previous;
  c.unfit_readings = {slip, word};
  c.source = SearchedSession{"tractor-1.capture", 2, 10, 20};
  j = json::parse(proposals_json(c));
  CHECK(j.at("unanswered").at(0).at("channel") == "cell_03");
  CHECK(j.at("unanswered").at(0).at("reason") == "why");
  CHECK(j.at("unanswered").at(0).at("advice") == "step it");
  const json& nearest = j.at("unanswered").at(0).at("nearest");
  CHECK(nearest == json::parse(R"({"bus": 0, "identifier": 419385573, "extended": true,
    "selector": {"span": "0.7..0.0", "value": 3}, "span": "1.7..2.0", "levels": 12, "agree": 5})"));
  CHECK(j.at("unanswered").at(1).at("nearest").is_null());
  CHECK(j.at("unfit_readings").at(0) == json::parse(R"({"reading": 97, "channel": "cell_01",
    "unit": "V", "ucum": "V", "t_s": 48.2, "value": 34.56, "expected": 3.4561, "kind": "factor-10",
    "correct": "foundling stimulus tractor-1.capture correct 97 3.456V --session 2"})"));
  CHECK(j.at("unfit_readings").at(1).at("value") == "open");
  CHECK(j.at("unfit_readings").at(1).at("expected") == "closed");
  CHECK(j.at("unfit_readings").at(1).at("kind") == "previous");
}

TEST_CASE("proposals carry every agreed name with the agreed type") {
  Correlation c;
  c.proposals.push_back(current());
  c.advice.emplace_back("step it");
  c.seconds = 1.5;
  const json j = json::parse(proposals_json(c));
  CHECK(j.at("format") == "foundling-proposals");
  CHECK(j.at("version") == 1);
  CHECK(j.at("advice").at(0) == "step it");
  CHECK(j.at("seconds").is_number());
  const json& p = j.at("proposals").at(0);
  CHECK(p.at("channel") == "pack_current");
  CHECK(p.at("unit") == "A");
  CHECK(p.at("ucum") == "A");
  CHECK(p.at("derived") == false);
  CHECK(p.at("bus") == 0);
  CHECK(p.at("identifier") == 0x18FF50E5);
  CHECK(p.at("extended") == true);
  CHECK(p.at("selector").at("span") == "0.7..0.0");
  CHECK(p.at("selector").at("value") == 3);
  CHECK(p.at("span") == "1.7..2.0");
  CHECK(p.at("width") == 16);
  CHECK(p.at("byte_order") == "big");
  CHECK(p.at("signed") == true);
  CHECK(p.at("scale") == 0.1);
  CHECK(p.at("scale_interval").size() == 2);
  CHECK(p.at("offset_interval").size() == 2);
  for (const char* name : {"offset", "scale_fitted", "offset_fitted", "delay_s", "residual_rms",
                           "levels", "chance", "time_constant_s", "rank"}) {
    CAPTURE(name);
    CHECK(p.at(name).is_number());
  }
  CHECK(p.at("untested_high_bits") == 2);
  CHECK(p.at("verdict") == "strong");
  CHECK(p.at("states").is_null());
  const json& same = p.at("same_as").at(0);
  CHECK(same.at("identifier") == 0x1A4);
  CHECK(same.at("extended") == false);
  CHECK(same.at("selector").is_null());
  CHECK(same.at("span") == "0.7..0.0");
}

TEST_CASE("a unit goes out with its UCUM code beside it, and without one where it has none") {
  Correlation c;
  for (const char* unit : {"°C", "Ah", "kΩ", "state", "bananas"}) {
    c.proposals.push_back(current());
    c.proposals.back().unit = unit;
    c.unfit_readings.push_back({97, "cell_01", unit, 0, 34.56, 3.456});
  }
  const json j = json::parse(proposals_json(c));
  for (const char* list : {"proposals", "unfit_readings"}) {
    CAPTURE(list);
    CHECK(j.at(list).at(0).at("unit") == "°C");
    CHECK(j.at(list).at(0).at("ucum") == "Cel");
    CHECK(j.at(list).at(1).at("ucum") == "A.h");
    CHECK(j.at(list).at(2).at("ucum") == "kOhm");
    CHECK_FALSE(j.at(list).at(3).contains("ucum"));
    CHECK_FALSE(j.at(list).at(4).contains("ucum"));
  }
}

TEST_CASE("a state proposal carries its words by raw code, and no page is null") {
  Correlation c;
  Proposal p;
  p.channel = "interlock";
  p.unit = "state";
  p.place = {0, CanId::standard(0x2D0), {}, {{0, 0}, {0, 0}}};
  p.states = {{0, "open"}, {1, "closed"}};
  c.proposals.push_back(p);
  const json j = json::parse(proposals_json(c));
  CHECK(j.at("proposals").at(0).at("states").at("1") == "closed");
  CHECK(j.at("proposals").at(0).at("selector").is_null());
  CHECK(j.at("proposals").at(0).at("byte_order") == "single");
}

TEST_CASE("a survey carries every agreed name with the agreed type") {
  Survey survey;
  MessageSurvey m;
  m.id = CanId::standard(0x1A4);
  m.frames = 100;
  m.period_s = 0.01;
  m.length = 8;
  m.constant_bits.push_back({{0, 7}, {0, 4}});
  m.counters.push_back({{{6, 3}, {6, 0}}, 1, 15});
  m.checksums.emplace_back();
  m.checksums[0].span = {{7, 7}, {7, 0}};
  m.checksums[0].kind = std::string("crc8");
  m.checksums[0].polynomial = std::string("1D");
  m.selectors.push_back({{{0, 7}, {0, 0}}, {0, 1, 2}});
  survey.messages.push_back(m);
  const json j = json::parse(survey_json(survey, {"a.capture", 1, 500000, 1}));
  CHECK(j.at("format") == "foundling-survey");
  CHECK(j.at("version") == 1);
  const json published = schema("survey");
  check_names(j, published, true);
  check_names(j.at("messages").at(0), items_of(published, published, "messages"), true);
  const json& message = j.at("messages").at(0);
  CHECK(message.at("bus") == 0);
  CHECK(message.at("identifier") == 0x1A4);
  CHECK(message.at("extended") == false);
  CHECK(message.at("frames") == 100);
  CHECK(message.at("period_s").is_number());
  CHECK(message.at("jitter_s").is_number());
  CHECK(message.at("length") == 8);
  CHECK(message.at("constant_bits").at(0) == "0.7..0.4");
  CHECK(message.at("counters").at(0).at("span") == "6.3..6.0");
  CHECK(message.at("counters").at(0).at("step") == 1);
  CHECK(message.at("counters").at(0).at("modulus") == 15);
  CHECK(message.at("checksums").at(0).at("kind") == "crc8");
  CHECK(message.at("checksums").at(0).at("polynomial") == "1D");
  CHECK(message.at("selectors").at(0).at("values").size() == 3);
}
