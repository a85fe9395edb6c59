// What a search left open, as the next plan. Findings are written down here by hand.
#include "decoder/draft/next_plan.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "decoder/bench/plan_text.h"

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
  CHECK(next.remains == std::vector<std::string>{"a b: hang on one lead and cannot be told apart"});
}

TEST_CASE("a top bit is planned where known limits reach it, and said to remain elsewhere") {
  Correlation found;
  found.proposals = {strong("a")};
  found.proposals[0].untested_high_bits = 2;  // bit 14 moves at 2^14 mV
  const std::vector<ChannelSeries> channels{moved("a", eight)};
  const NextPlan without = next_plan(found, channels, {});
  CHECK(without.plan.channels.empty());
  REQUIRE(without.remains.size() == 1);
  CHECK(without.remains[0] ==
        "a: bit 14 of its field, which only a value beyond 16.38 V moves, outside what it was set "
        "to");
  const bench::PlanText known =
      bench::read_plan("foundling plan 1\nchannel a V\n  limits 0..20 V\n");
  const NextPlan with = next_plan(found, channels, known.plan);
  REQUIRE(with.plan.channels.size() == 1);
  CHECK(with.plan.channels[0].high == 20);
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
