#include "decoder/bench/plan_text.h"

#include <doctest/doctest.h>

#include "tests/plan/tractor_plan.h"

namespace foundling::bench {
namespace {

TEST_CASE("a plan in its own layout is written as it was read, comments and blank lines too") {
  const PlanText read = read_plan(tractor_plan);
  CHECK(describe(read.diagnostics, "tractor.plan", tractor_plan) == "");
  CHECK(write_plan(read.plan) == tractor_plan);
}

TEST_CASE("what a plan says is read into numbers, words and places") {
  const Plan plan = read_plan(tractor_plan).plan;
  CHECK(plan.seed == 4711);
  CHECK(plan.at_most_s == 2400);
  REQUIRE(plan.channels.size() == 5);
  CHECK(plan.channels[0].low == -60);
  CHECK(plan.channels[0].ramp == 20);
  CHECK(plan.channels[1].words == std::vector<std::string>{"open", "closed"});
  CHECK(members(plan.channels[2]).size() == 28);
  CHECK(members(plan.channels[2]).front() == "cell_01");
  CHECK(plan.channels[2].moves == Moves::in_sets);
  CHECK(plan.channels[3].rest_value() == 0);
  REQUIRE(plan.steps.size() == 2);
  const Step& step = plan.steps[0];
  CHECK(plan.hold_of(step) == 12);
  CHECK(plan.hold_of(plan.steps[1]) == 10);
  REQUIRE(step.settings.size() == 4);
  CHECK(step.settings[1].word == "open");
  CHECK(step.settings[2].channels.size() == 6);
  CHECK(step.settings[2].channels[3] == "cell_07");
  CHECK(value_in_unit_of(plan.channels[2], step.settings[2]) == 3.45);
  CHECK(step.settings[2].value_place.line == 44);
  CHECK(find_channel(plan, "cell_28") == &plan.channels[2]);
  CHECK(find_channel(plan, "cell_29") == nullptr);
  CHECK(find_channel(plan, "cell_7") == nullptr);
}

TEST_CASE("any order, indentation and spelling of units is read and laid out the one way") {
  const char* text =
      "foundling plan 1\n"
      "hold 0.2 min\n"
      "channel supply mV\n"
      "grain 0.01 V\n"
      "\tlimits 8..16 V\n"
      "seed 7\n"
      "step 1\n"
      "set supply=9 V\n";
  const PlanText read = read_plan(text);
  CHECK(describe(read.diagnostics, "p", text) == "");
  const std::string laid_out =
      "foundling plan 1\n"
      "seed 7\n"
      "hold 12 s\n"
      "channel supply mV\n"
      "  limits 8000..16000 mV\n"
      "  grain 10 mV\n"
      "step 1\n"
      "  set supply = 9 V\n";
  CHECK(write_plan(read.plan) == laid_out);
  CHECK(write_plan(read_plan(laid_out).plan) == laid_out);
}

TEST_CASE("figures can be words of a state channel") {
  const char* text =
      "foundling plan 1\n"
      "channel service_switch state\n"
      "  words 0 1\n"
      "step 1\n"
      "  set service_switch = 1\n";
  const PlanText read = read_plan(text);
  CHECK(read.ok());
  CHECK(read.plan.steps[0].settings[0].word == "1");
  CHECK(write_plan(read.plan) == text);
}

TEST_CASE("limits whose range is no number any more are refused") {
  const std::string text =
      "foundling plan 1\nchannel a V\n  limits -1e308..1e308 V\nchannel b V\n  limits -1e12..1e12 "
      "V\n";
  CHECK(describe(read_plan(text).diagnostics, "p", text) ==
        "p:3:10: error: expected limits within -1e12..1e12, found '-1e308..1e308'\n"
        "    limits -1e308..1e308 V\n"
        "           ^^^^^^^^^^^^^\n");
}

TEST_CASE("a faulty line is told with its place and a suggestion, and reading goes on") {
  const char* text =
      "foundling plan 1\n"
      "chanel pack_current A\n"
      "channel supply V\n"
      "  limits 16..8 V\n"
      "  limts 8..16 V\n"
      "  settle 3 A\n"
      "step 1\n"
      "  set supply 12 V\n"
      "  levels 3\n";
  CHECK(describe(read_plan(text).diagnostics, "p", text) ==
        "p:2:1: error: expected a keyword, found 'chanel'\n"
        "  chanel pack_current A\n"
        "  ^^^^^^\n"
        "  suggestion: did you mean 'channel'?\n"
        "p:4:10: error: expected limits that go upwards, found '16..8'\n"
        "    limits 16..8 V\n"
        "           ^^^^^\n"
        "  suggestion: did you mean 8..16?\n"
        "p:5:3: error: expected a keyword, found 'limts'\n"
        "    limts 8..16 V\n"
        "    ^^^^^\n"
        "  suggestion: did you mean 'limits'?\n"
        "p:6:12: error: expected s, ms, min or h behind the number, found 'A'\n"
        "    settle 3 A\n"
        "             ^\n"
        "p:8:14: error: expected '=', found '12'\n"
        "    set supply 12 V\n"
        "               ^^\n"
        "p:9:3: error: expected a channel before this line, found 'levels'\n"
        "    levels 3\n"
        "    ^^^^^^\n");
}

TEST_CASE("a source is laid over sets of numbers, not of words") {
  const char* text =
      "foundling plan 1\n"
      "series door 1..4 state\n"
      "  words open closed\n"
      "  rest closed\n"
      "  move in sets\n";
  CHECK(describe(read_plan(text).diagnostics, "p", text) ==
        "p:5:8: error: expected 'alone': no source is laid over channels of words in sets, "
        "found 'in'\n"
        "    move in sets\n"
        "         ^^\n");
}

TEST_CASE("another file is said to be one, once") {
  const char* text = "foundling signals 1\nboard x\n";
  CHECK(describe(read_plan(text).diagnostics, "p", text) ==
        "p:1:11: error: expected 'foundling plan 1', found 'signals'\n"
        "  foundling signals 1\n"
        "            ^^^^^^^\n"
        "  suggestion: the first line of a bench plan is: foundling plan 1\n");
}

}  // namespace
}  // namespace foundling::bench
