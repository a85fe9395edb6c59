#include "decoder/report/proposals_report.h"

#include <doctest/doctest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "tests/report/json_schema.h"

namespace foundling::test {
namespace {

using nlohmann::json;

Proposal voltage() {
  Proposal p;
  p.channel = "cell_02";
  p.unit = "V";
  p.place = {0, CanId::standard(0x1B0), Page{*parse_span("0.7..0.0"), 3}, *parse_span("4.7..3.0")};
  p.scale = 0.001;
  p.scale_fitted = 0.00100012;
  p.offset_fitted = -0.0003;
  p.scale_interval = {0.0009996, 0.0010007};
  p.offset_interval = {-0.002, 0.0011};
  p.delay_s = 0.05;
  p.time_constant_s = 0.07;
  p.residual_rms = 0.0004;
  p.levels = 12;
  p.chance = 0.005;
  p.untested_high_bits = 4;
  p.reserved = {0xFFFF};
  p.verdict = Verdict::ambiguous;
  p.same_as = {{0, CanId::extended(0x18FF50E5), {}, *parse_span("1.7..2.0")}};
  p.ambiguous_with = {"cell_03"};
  return p;
}

Proposal contactor() {
  Proposal p;
  p.channel = "contactor";
  p.place = {1, CanId::standard(0x2D0), {}, *parse_span("0.1")};
  p.states = {{0, "open"}, {1, "closed"}};
  p.verdict = Verdict::strong;
  p.levels = 2;
  p.chance = 0.01;
  return p;
}

Proposal thermistor() {
  Proposal p;
  p.channel = "temp_1";
  p.unit = "°C";
  p.place = {0, CanId::standard(0x2B0), {}, *parse_span("0.7..1.0")};
  p.table = {{500, 60, 0.25}, {750, 41.5, std::nan("")}, {1000, 25, 0.125}};
  p.scale = p.scale_fitted = -0.07;
  p.scale_interval = {-0.074, -0.066};
  p.levels = 2;
  return p;
}

json printed(const Correlation& correlation) { return json::parse(proposals_json(correlation)); }

}  // namespace

TEST_CASE("proposals are printed as JSON that keeps to its schema") {
  const json out = printed({{voltage(), contactor()}, {"move cell_02 by itself"}, 1.5});
  CHECK(schema_faults(project_schema("proposals"), out) == std::vector<std::string>{});
  CHECK(schema_faults(project_schema("proposals"), printed({})) == std::vector<std::string>{});
  CHECK(out["advice"] == json{"move cell_02 by itself"});
  CHECK(out["seconds"] == 1.5);
}

TEST_CASE("a float, a member that was only inferred, and what cannot be told apart are marked") {
  Proposal p = voltage();
  p.is_float = true;
  p.inferred = true;
  const json out = printed({{p}, {}, 0})["proposals"][0];
  CHECK(out["float"] == true);
  CHECK(out["inferred"] == true);
  CHECK(out["time_constant_s"] == 0.07);
  CHECK(out["ambiguous_with"] == json{"cell_03"});
}

TEST_CASE("a field on a curve is printed with its table, measured points with their uncertainty") {
  const json out = printed({{thermistor(), voltage()}, {}, 0});
  CHECK(schema_faults(project_schema("proposals"), out).empty());
  CHECK(out["proposals"][0]["table"] ==
        json::parse(R"([{"raw": 500.0, "value": 60.0, "uncertainty": 0.25},
                        {"raw": 750.0, "value": 41.5, "uncertainty": null},
                        {"raw": 1000.0, "value": 25.0, "uncertainty": 0.125}])"));
  CHECK(out["proposals"][1]["table"].is_null());
  const std::string text = proposals_text({{thermistor()}, {}, 0});
  CHECK(text.find("table below") != std::string::npos);
  CHECK(text.find("\n      500 = 60 ± 0.25   1000 = 25 ± 0.12\n") != std::string::npos);
}

TEST_CASE("every figure of the table has its unit") {
  const std::string text = proposals_text({{voltage()}, {}, 0});
  CAPTURE(text);
  // The interval 0.0009996 .. 0.0010007 lies within 0.07 % of 0.001, -0.002 .. 0.0011 within 0.002.
  CHECK(text.find(" 1.000 mV ± 0.07 % ") != std::string::npos);
  CHECK(text.find(" 0 ± 2.0 mV\n") != std::string::npos);
}

TEST_CASE("names that are no UTF-8 still make JSON") {
  Proposal p = contactor();
  p.channel = "relay \xFF";
  CHECK(schema_faults(project_schema("proposals"), printed({{p}, {}, 0})).empty());
}

TEST_CASE("the table has a line a proposal, remarks under it, and advice below") {
  Proposal second = voltage();
  second.rank = 2;
  const std::string text =
      proposals_text({{voltage(), second, contactor()}, {"move cell_02 by itself"}, 0});
  CHECK(text.find("\ncell_02    ambiguous  bus 0 1B0 4.7..3.0 page 3") != std::string::npos);
  CHECK(text.find("\n  or       ambiguous  bus 0 1B0") != std::string::npos);
  CHECK(text.find("0 = open, 1 = closed") != std::string::npos);
  CHECK(text.find("\n    cannot be distinguished from cell_03\n") != std::string::npos);
  CHECK(text.find("\n    also in bus 0 18FF50E5 1.7..2.0\n") != std::string::npos);
  CHECK(text.find("\nadvice for the bench:\n  move cell_02 by itself\n") != std::string::npos);
  CHECK(proposals_text({}).find("no signal was found") == 0);
}

}  // namespace foundling::test
