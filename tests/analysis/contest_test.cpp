// Two fields side by side, one of them said to reach into the other: who yields the bits.
#include "decoder/analysis/contest.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <random>
#include <stdexcept>

#include "decoder/analysis/in_parallel.h"

using namespace foundling;

namespace {

constexpr std::int64_t second = 1'000'000'000;
const Span upper = *parse_span("0.7..1.4");
const Span lower = *parse_span("1.3..2.0");

struct Bench {
  std::vector<MessageSeries> messages{MessageSeries{}};
  std::vector<ChannelSeries> channels{{{"a", "V", ChannelKind::hold}, {}},
                                      {{"b", "A", ChannelKind::hold}, {}}};
};

// An invented board: two 12-bit fields that touch, each with noise of two codes, moved in turn.
Bench make_bench(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> noise(0, 2);
  Bench b;
  MessageSeries& m = b.messages[0];
  m.id = CanId::standard(0x321);
  m.length = 3;
  std::array<double, 2> level{1000, 2000};
  for (int p = 0; p < 40; ++p) {
    const auto moved = static_cast<std::size_t>(p % 2);
    level[moved] = 100 + static_cast<double>(random() % 3800);
    const std::int64_t start = p * 10 * second;
    for (std::size_t c = 0; c < 2; ++c) {
      if (c == moved || p == 0) b.channels[c].readings.push_back({start, level[c] * 0.01, 0, ""});
    }
    for (int k = 0; k < 100; ++k) {
      m.t_ns.push_back(start + k * second / 10);
      std::vector<std::uint8_t> bytes(3, 0);
      insert(upper, static_cast<std::uint64_t>(std::lround(level[0] + noise(random))), bytes);
      insert(lower, static_cast<std::uint64_t>(std::lround(level[1] + noise(random))), bytes);
      m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
    }
  }
  return b;
}

}  // namespace

TEST_CASE("a field that reaches into its neighbour gives the bits up, whichever it is") {
  const Bench b = make_bench(5);
  const auto streams = make_streams(b.messages, Survey{{MessageSurvey{}}});
  const std::int64_t end_ns = b.messages[0].t_ns.back();
  std::vector<Claim> honest;
  for (const ChannelSeries& channel : b.channels) {
    honest.push_back({&channel, false, search_channel(streams, channel, end_ns), {}, {}, 1, false});
  }
  REQUIRE(!honest[0].search.candidates.empty());
  REQUIRE(!honest[1].search.candidates.empty());
  REQUIRE(honest[0].search.candidates[0].field.span == upper);
  REQUIRE(honest[1].search.candidates[0].field.span == lower);

  SUBCASE("fields that do not overlap stay as they are") {
    contest_bits(streams, honest, end_ns);
    CHECK(honest[0].search.candidates[0].field.span == upper);
    CHECK(honest[1].search.candidates[0].field.span == lower);
  }
  SUBCASE("the upper one, downwards") {
    honest[0].search.candidates[0].field.span = *parse_span("0.7..1.2");
    contest_bits(streams, honest, end_ns);
    CHECK(honest[0].search.candidates[0].field.span == upper);
    CHECK(honest[1].search.candidates[0].field.span == lower);
  }
  SUBCASE("the lower one, upwards") {
    honest[1].search.candidates[0].field.span = *parse_span("1.5..2.0");
    contest_bits(streams, honest, end_ns);
    CHECK(honest[0].search.candidates[0].field.span == upper);
    CHECK(honest[1].search.candidates[0].field.span == lower);
  }
  SUBCASE("one that takes in the other whole, though the frames are written as shortly so") {
    Field& wide = honest[0].search.candidates[0].field;
    wide.span = *parse_span("0.7..2.0");
    wide.saving += honest[1].search.candidates[0].field.saving + 10;
    contest_bits(streams, honest, end_ns);
    CHECK(honest[0].search.candidates[0].field.span == upper);
    CHECK(honest[1].search.candidates[0].field.span == lower);
  }
}

TEST_CASE("work in parallel is done once an item, and its first fault comes out") {
  std::vector<int> times(1000, 0);
  in_parallel(times.size(), [&](std::size_t i) { ++times[i]; });
  CHECK(std::all_of(times.begin(), times.end(), [](int n) { return n == 1; }));
  in_parallel(0, [](std::size_t) { FAIL("there is nothing to do"); });
  std::atomic<int> done{0};
  CHECK_THROWS_AS(in_parallel(1000,
                              [&](std::size_t i) {
                                if (i == 10) throw std::runtime_error("no");
                                ++done;
                              }),
                  std::runtime_error);
  CHECK(done < 1000);
}

TEST_CASE("what is not known of a time constant widens the line's intervals about their middle") {
  const Bench b = make_bench(7);
  const auto streams = make_streams(b.messages, Survey{{MessageSurvey{}}});
  const std::int64_t end_ns = b.messages[0].t_ns.back();
  const auto found = search_channel(streams, b.channels[0], end_ns);
  REQUIRE(!found.candidates.empty());
  const auto with = [&](double error) {
    const Lag lag{0.1, 0.5, error, 0};
    return with_own_lag(streams[0], b.channels[0], end_ns, found.candidates[0], lag).calibration;
  };
  const Calibration sure = with(0);
  const Calibration unsure = with(0.4);
  const auto width = [](const Interval& i) { return i.high - i.low; };
  const auto middle = [](const Interval& i) { return (i.high + i.low) / 2; };
  CHECK(unsure.line.slope == sure.line.slope);
  CHECK(width(unsure.scale) > width(sure.scale));
  CHECK(width(unsure.offset) > width(sure.offset));
  CHECK(middle(unsure.scale) == doctest::Approx(middle(sure.scale)).epsilon(1e-12));
}
