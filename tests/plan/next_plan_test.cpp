// What a search left open, as the next plan. Findings are written down here by hand.
#include "decoder/draft/next_plan.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "decoder/bench/draw.h"
#include "decoder/bench/plan_text.h"
#include "decoder/draft/untested_bits.h"

namespace foundling {
namespace {

ChannelSeries moved(const std::string& name, std::vector<double> values) {
  ChannelSeries series{{name, "V", ChannelKind::hold}, {}};
  std::int64_t t_ns = 0;
  for (const double value : values) {
    Reading reading;
    reading.t_ns = t_ns += 10'000'000'000;
    reading.value = value;
    series.readings.push_back(reading);
  }
  return series;
}

Proposal strong(const std::string& name) {
  Proposal p;
  p.channel = name;
  p.unit.assign(1, 'V');
  p.place.span = *parse_span("0.7..1.0");
  p.scale = 0.001;
  p.levels = 8;
  p.verdict = Verdict::strong;
  return p;
}

const std::vector<double> eight{1, 3, 2, 4, 1.5, 3.5, 2.5, 4.5};

TEST_CASE("what is settled is left alone") {
  Correlation found;
  found.proposals = {strong("a")};
  const std::vector<ChannelSeries> channels{moved("a", eight)};
  const NextPlan next = next_plan(found, channels, {});
  CHECK(next.plan.channels.empty());
  CHECK(next.settles.empty());
}

TEST_CASE("channels that moved together are planned, within what they were set to") {
  Correlation found;
  found.proposals = {strong("a"), strong("b"), strong("c")};
  found.proposals[0].verdict = found.proposals[1].verdict = Verdict::ambiguous;
  found.proposals[0].ambiguous_with = {"b"};
  found.proposals[1].ambiguous_with = {"a"};
  const std::vector<ChannelSeries> channels{moved("a", eight), moved("b", {10, 30, 20}),
                                            moved("c", eight)};
  const NextPlan next = next_plan(found, channels, {});
  REQUIRE(next.plan.channels.size() == 2);
  CHECK(next.plan.channels[0].low == 1);
  CHECK(next.plan.channels[0].high == 4.5);
  CHECK(next.plan.channels[1].high == 30);
  CHECK(next.separates == std::vector<std::string>{"a", "b"});
  CHECK(next.settles ==
        std::vector<std::string>{"a b: moved together, so nobody knows whose field is whose"});
}

TEST_CASE(
    "without a plan a channel rests at zero, or nearest to it, and at figures as they are set") {
  Correlation found;
  found.proposals = {strong("a"), strong("b")};
  found.proposals[0].verdict = found.proposals[1].verdict = Verdict::ambiguous;
  found.proposals[0].ambiguous_with = {"b"};
  found.proposals[1].ambiguous_with = {"a"};
  const std::vector<ChannelSeries> channels{moved("a", {20, -34.800000000000004, 5}),
                                            moved("b", {90, 34.800000000000004, 99.99})};
  const NextPlan next = next_plan(found, channels, {});
  REQUIRE(next.plan.channels.size() == 2);
  CHECK(next.plan.channels[0].rest_value() == 0);
  CHECK(next.plan.channels[0].low == -34.8);
  CHECK(next.plan.channels[1].rest_value() == 34.8);
  CHECK(next.plan.channels[1].high == 99.99);
}

TEST_CASE("channels on one lead are said to remain") {
  const char* text =
      "foundling plan 1\n"
      "channel a V\n  limits 0..5 V\n  lead x\n"
      "channel b V\n  limits 0..5 V\n  lead x\n";
  const bench::PlanText known = bench::read_plan(text);
  REQUIRE(known.ok());
  Correlation found;
  found.proposals = {strong("a"), strong("b")};
  found.proposals[0].verdict = found.proposals[1].verdict = Verdict::ambiguous;
  found.proposals[0].ambiguous_with = {"b"};
  found.proposals[1].ambiguous_with = {"a"};
  const std::vector<ChannelSeries> channels{moved("a", eight), moved("b", eight)};
  const NextPlan next = next_plan(found, channels, known.plan);
  CHECK(next.separates.empty());
  CHECK(next.remains ==
        std::vector<std::string>{"a b: hang on one lead and cannot be distinguished"});
}

TEST_CASE("top bits are planned as far as known limits reach, and said to remain elsewhere") {
  Correlation found;
  found.proposals = {strong("a")};
  found.proposals[0].untested_high_bits = 2;  // bit 14 moves at 2^14 mV, bit 15 at 2^15 mV
  const std::vector<ChannelSeries> channels{moved("a", eight)};
  const NextPlan without = next_plan(found, channels, {});
  CHECK(without.plan.channels.empty());
  REQUIRE(without.remains.size() == 1);
  CHECK(without.remains[0] ==
        "a: bits 0.7..0.6 of the field, untested: only values beyond 16.38 V would move the lowest "
        "of them, outside what it was set to");
  const bench::PlanText known =
      bench::read_plan("foundling plan 1\nchannel a V\n  limits 0..20 V\n");
  const NextPlan with = next_plan(found, channels, known.plan);
  REQUIRE(with.plan.channels.size() == 1);
  CHECK(with.plan.channels[0].high == 20);
  CHECK(with.settles == std::vector<std::string>{"a: bit 0.6 of the field, which never moved"});
  CHECK(with.exercises.at("a") == 1);
  CHECK(with.remains == std::vector<std::string>{
                            "a: bit 0.7 of the field, untested: only values beyond 32.77 V would "
                            "move it, outside its limits"});
}

TEST_CASE("below raw 0 lies two's complement, if the field is that") {
  Correlation found;
  found.proposals = {strong("a")};
  found.proposals[0].untested_high_bits = 2;
  const std::vector<ChannelSeries> channels{moved("a", eight)};
  const bench::PlanText known =
      bench::read_plan("foundling plan 1\nchannel a mV\n  limits -4000..4500 mV\n");
  REQUIRE(known.ok());
  const NextPlan next = next_plan(found, channels, known.plan);
  CHECK(next.settles ==
        std::vector<std::string>{"a: bits 0.7..0.6 of the field, which never moved, move below raw "
                                 "0 if it is two's complement"});
  CHECK(next.remains.empty());
}

TEST_CASE("which untested bits move between two values: either end, margins, the sign") {
  Proposal p = strong("a");
  p.untested_high_bits = 3;  // of 16: blocks of 8192 mV
  struct Row {
    double stood, low, high;
    int moved;
    bool by_sign;
  };
  for (const Row& row : {
           Row{1, 0, 8, 0, false}, Row{1, 0, 8.25, 0, false},  // within the grain of the limit
           Row{1, 0, 8.4, 1, false}, Row{1, 0, 20, 2, false}, Row{1, 0, 60, 3, false},
           Row{1, -5, 8, 3, true}, Row{20, 15, 20, 2, false},  // downwards, from 010 to 001
           Row{20, 16.3, 20, 0, false}, Row{20, 8, 20, 2, false},
           Row{60, 60, 70, 3, true},  // all ones, and on past the end
       }) {
    CAPTURE(row.stood);
    CAPTURE(row.low);
    CAPTURE(row.high);
    const UntestedBits bits = untested_bits(p, row.stood, row.low, row.high, 0.1);
    CHECK(bits.moved == row.moved);
    CHECK(bits.still == 3 - row.moved);
    CHECK(bits.by_sign == row.by_sign);
  }
  const UntestedBits middle = untested_bits(p, 20, 18, 22, 0.1);
  CHECK(*middle.above == doctest::Approx(24.576));
  CHECK(*middle.below == doctest::Approx(16.384));
  p.scale = -0.001;
  p.offset = 40;
  const UntestedBits falling = untested_bits(p, 20, 18, 22, 0.1);
  CHECK(*falling.above == doctest::Approx(23.616));
  CHECK(*falling.below == doctest::Approx(15.424));
}

TEST_CASE(
    "members that one source is laid over in sets stay so, and only the open ones are moved") {
  const bench::PlanText known = bench::read_plan(
      "foundling plan 1\nseries cell 01..09 V\n  limits 1..5 V\n  rest 2 V\n  move in sets\n");
  REQUIRE(known.ok());
  Correlation found;
  std::vector<ChannelSeries> channels;
  const std::vector<std::string> together{"cell_02", "cell_04", "cell_05"};
  for (const std::string& name : together) {
    found.proposals.push_back(strong(name));
    found.proposals.back().verdict = Verdict::ambiguous;
    for (const std::string& other : together) {
      if (other != name) found.proposals.back().ambiguous_with.push_back(other);
    }
    channels.push_back(moved(name, eight));
  }
  found.proposals.push_back(strong("cell_07"));
  channels.push_back(moved("cell_07", eight));
  const NextPlan next = next_plan(found, channels, known.plan);
  REQUIRE(next.plan.channels.size() == 1);
  CHECK(next.plan.channels[0].moves == bench::Moves::in_sets);
  CHECK(members(next.plan.channels[0]) == together);
  CHECK(next.separates == together);
  const auto drawn = bench::draw_plan(next.plan, 1);
  REQUIRE(drawn);
  CHECK(drawn->drawn.size() == 10);  // five of them under the source: as few as a line can rest on
  const bench::PlanText again = bench::read_plan(bench::write_plan(drawn->plan));
  CHECK(again.ok());
  CHECK(members(again.plan.channels[0]) == together);
}

TEST_CASE("what an instrument only measured is not planned, and is said to remain") {
  Correlation found;
  found.proposals = {strong("a"), strong("b")};
  found.proposals[0].verdict = found.proposals[1].verdict = Verdict::ambiguous;
  found.proposals[0].ambiguous_with = {"b"};
  found.proposals[1].ambiguous_with = {"a"};
  std::vector<ChannelSeries> channels{moved("a", eight), moved("b", eight)};
  channels[1].channel.kind = ChannelKind::sample;
  const NextPlan next = next_plan(found, channels, {});
  REQUIRE(next.plan.channels.size() == 1);
  CHECK(next.separates == std::vector<std::string>{"a"});
  CHECK(next.remains ==
        std::vector<std::string>{"b: was only measured; what moves it is not in this plan's hand"});
}

TEST_CASE("too few levels are planned; a channel that never moved waits for its limits") {
  Correlation found;
  const std::vector<ChannelSeries> channels{moved("a", {1, 2, 1}), moved("b", {3, 3})};
  const NextPlan next = next_plan(found, channels, {});
  REQUIRE(next.plan.channels.size() == 1);
  CHECK(next.plan.channels[0].name == "a");
  CHECK(next.plan.channels[0].levels == 8);
  REQUIRE(next.remains.size() == 1);
  CHECK(next.remains[0] == "b: had too few levels, and how far it may be moved is not known");
}

}  // namespace
}  // namespace foundling
