// Plans that were edited into contradiction: each brings one message with its place.
#include "decoder/bench/check_plan.h"

#include <doctest/doctest.h>

#include "decoder/bench/plan_text.h"
#include "decoder/bench/plan_time.h"
#include "tests/plan/tractor_plan.h"

namespace foundling::bench {
namespace {

// The tractor's plan with one piece of its text replaced.
std::string complaint(std::string_view piece, std::string_view instead) {
  std::string text = tractor_plan;
  const auto at = text.find(piece);
  REQUIRE(at != std::string::npos);
  text.replace(at, piece.size(), instead);
  std::string all = describe(read_plan(text).diagnostics, "p", text);
  return all.substr(0, all.find('\n'));
}

TEST_CASE("what contradicts itself is refused where it stands") {
  CHECK(complaint("set pack_current = 20 A", "set pack_current = 60.5 A") ==
        "p:42:22: error: 60.5 A is beyond the limits of pack_current, -60..60");
  CHECK(complaint("3450 mV", "345 mV") ==
        "p:44:34: error: 0.345 V is beyond the limits of cell_01, 2.8..3.6");
  CHECK(complaint("3450 mV", "3.45 A") == "p:44:34: error: cell_01 is in V, found A");
  CHECK(
      complaint("jump 80 A", "jump 15 A") ==
      "p:42:22: error: pack_current goes from 0 to 20 A in one step, further than its jump of 15");
  CHECK(complaint("set pack_current = 20 A", "set pack_current = -61 A") ==
        "p:42:22: error: -61 A is beyond the limits of pack_current, -60..60");
  CHECK(complaint("= open", "= opn") ==
        "p:43:19: error: expected a word of interlock, found 'opn'");
  CHECK(complaint("= open", "= 3") == "p:43:19: error: expected a word of interlock, found '3'");
  CHECK(complaint("= 20 A", "= open") == "p:42:22: error: expected a number in A, found 'open'");
  CHECK(complaint("set cell_01 cell_05", "set cel_01 cell_05") ==
        "p:44:7: error: expected a channel of this plan, found 'cel_01'");
  CHECK(
      complaint("set temp_2 temp_3 = 20", "set temp_3 = 25") ==
      "p:40:6: error: channels on the lead 'bath' part in step 1, but always have the same value");
  CHECK(complaint("set cell_01 cell_05", "set cell_06 cell_05") ==
        "p:44:7: error: cell_06 is set twice in step 1");
  CHECK(complaint("step 2", "step 3") == "p:48:6: error: expected step 2, found step 3");
  CHECK(complaint("settle 0.5 s", "settle 20 s") ==
        "p:40:6: error: a hold of 12 s is shorter than pack_current takes to settle");
  CHECK(complaint("rest 0 A", "rest -61 A") ==
        "p:11:9: error: pack_current rests at -61 A, beyond its limits -60..60");
  CHECK(complaint("series cell", "series temp_2\nseries cell") ==
        "p:27:14: error: expected the members' numbers upwards, as in 01..28 or 03 07..09, found "
        "the end of the line");
  CHECK(complaint("series cell 01..28", "series cell 03 02") ==
        "p:27:16: error: expected the members' numbers upwards, as in 01..28 or 03 07..09, found "
        "'02'");
  CHECK(complaint("series cell 01..28", "series cell 03") ==
        "p:27:13: error: expected two members or more, as in 01..28 or 03 07..09, found '03'");
  CHECK(complaint("channel temp_2 °C", "channel temp_3 °C") ==
        "p:35:9: error: a channel 'temp_3' twice");
}

TEST_CASE("a hold too short for many channels is told once a step, by the slowest") {
  std::string text = tractor_plan;
  text.replace(text.find("hold 12 s"), 9, "hold 1 s");
  const PlanText read = read_plan(text);
  REQUIRE(read.diagnostics.size() == 1);
  CHECK(read.diagnostics[0].message == "a hold of 1 s is shorter than interlock takes to settle");
}

TEST_CASE("a step takes its settings, the way at the ramp's pace, and its hold") {
  const Plan plan = read_plan(tractor_plan).plan;
  // Step 1: four settings of 5 s, 20 A at 20 A/s, 12 s of hold; step 2: one setting, 10 s of hold.
  CHECK(plan_seconds(plan) == doctest::Approx(4 * 5 + 1 + 12 + 5 + 10));
}

TEST_CASE("longer than wanted is a warning") {
  std::string text = tractor_plan;
  text.replace(text.find("at-most 40 min"), 14, "at-most 45 s");
  const PlanText read = read_plan(text);
  CHECK(read.ok());
  REQUIRE(read.diagnostics.size() == 1);
  CHECK(read.diagnostics[0].message == "the steps take 48 s, longer than 45 s");
}

}  // namespace
}  // namespace foundling::bench
