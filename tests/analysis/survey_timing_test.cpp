#include "decoder/analysis/survey_timing.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/analysis/survey_board.h"

namespace foundling::test {
namespace {

std::vector<std::int64_t> periodic(std::size_t n, double period_ms, double jitter_ms,
                                   std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> late(0, jitter_ms);
  std::vector<std::int64_t> times;
  for (std::size_t i = 0; i < n; ++i) {
    times.push_back(
        static_cast<std::int64_t>((static_cast<double>(i) * period_ms + late(random)) * 1e6));
  }
  std::sort(times.begin(), times.end());
  return times;
}

std::vector<std::int64_t> random_times(std::size_t n, double mean_ms, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::exponential_distribution<double> gap(1 / mean_ms);
  std::vector<std::int64_t> times;
  double t = 0;
  for (std::size_t i = 0; i < n; ++i) {
    times.push_back(static_cast<std::int64_t>((t += gap(random)) * 1e6));
  }
  return times;
}

std::vector<std::int64_t> merged(std::vector<std::int64_t> a, const std::vector<std::int64_t>& b) {
  a.insert(a.end(), b.begin(), b.end());
  std::sort(a.begin(), a.end());
  return a;
}

}  // namespace

TEST_CASE("period and jitter are robust against lost frames") {
  auto times = periodic(2000, 20, 0.3, 1);
  for (std::size_t i = 100; i < times.size(); i += 50) {
    times.erase(times.begin() + static_cast<std::ptrdiff_t>(i));
  }
  const Timing timing = survey_timing(times);
  CHECK(timing.period_s == doctest::Approx(0.020).epsilon(0.005));
  // Two independent deviations make up a gap: 0.3 ms times the square root of two.
  CHECK(timing.jitter_s == doctest::Approx(0.000424).epsilon(0.15));
  CHECK_FALSE(timing.event_driven);
}

TEST_CASE("messages by the clock, by events, and by both are told apart") {
  CHECK_FALSE(survey_timing(periodic(600, 1000, 20, 2)).event_driven);
  CHECK_FALSE(survey_timing(periodic(60, 1000, 5, 3)).event_driven);
  CHECK(survey_timing(random_times(500, 300, 4)).event_driven);
  CHECK(survey_timing(merged(periodic(600, 1000, 5, 5), random_times(80, 7000, 6))).event_driven);
}

TEST_CASE("pages sent in a burst keep a period") {
  std::vector<std::int64_t> times;
  for (std::int64_t round = 0; round < 200; ++round) {
    for (std::int64_t page = 0; page < 10; ++page) {
      times.push_back(round * 200'000'000 + page * 300'000);
    }
  }
  CHECK_FALSE(survey_timing(times).event_driven);
}

TEST_CASE("one frame has no period") {
  const std::vector<std::int64_t> one{5};
  CHECK(survey_timing(one).period_s == 0);
  CHECK(survey_timing({}).period_s == 0);
}

TEST_CASE("bits that never changed are told as the longest runs") {
  const std::vector<MessageSeries> messages{
      make_message(CanId::standard(0x100), 8, 50, [](std::size_t i, Bytes& bytes) {
        bytes[2] = static_cast<std::uint8_t>(0x50 | (i * 7 % 4) << 1);
        bytes[6] = static_cast<std::uint8_t>(i * 37);
      })};
  const Survey result = survey(messages);
  std::string spans;
  for (const Span& span : result.messages[0].constant_bits) spans += to_string(span) + ' ';
  CHECK(spans == "0.7..2.3 2.0..5.0 7.7..7.0 ");
}

// ISO 15765-2; the worked example of the read of identifier F190, from a public test.
TEST_CASE("segmented transport is recognised by its frame types, numbers and length") {
  const std::array<std::array<std::uint8_t, 8>, 3> response{{
      {0x10, 0x14, 0x62, 0xF1, 0x90, 0x4C, 0x54, 0x45},
      {0x21, 0x53, 0x54, 0x31, 0x32, 0x33, 0x34, 0x35},
      {0x22, 0x36, 0x37, 0x38, 0x39, 0x30, 0x31, 0x32},
  }};
  for (const std::size_t times : {std::size_t{1}, std::size_t{30}}) {
    const MessageSurvey found = survey_message(
        make_message(CanId::standard(0x7E8), 8, 3 * times, [&](std::size_t i, Bytes& bytes) {
          std::copy(response[i % 3].begin(), response[i % 3].end(), bytes.begin());
        }));
    CHECK(found.segmented_transport);
    CHECK(found.counters.empty());
    CHECK(found.selectors.empty());
  }
  auto broken = response;
  broken[2][0] = 0x23;  // a number is missing
  CHECK_FALSE(
      survey_message(make_message(CanId::standard(0x7E8), 8, 3, [&](std::size_t i, Bytes& bytes) {
        std::copy(broken[i].begin(), broken[i].end(), bytes.begin());
      })).segmented_transport);
}

TEST_CASE(
    "of frames in bursts the mean time is told beside the median, which is that within a burst") {
  std::vector<std::int64_t> times;
  for (std::int64_t burst = 0; burst < 300; ++burst) {
    for (std::int64_t frame = 0; frame < 4; ++frame) {
      times.push_back(burst * 79'200'000 + frame * 3'000'000);
    }
  }
  const Timing timing = survey_timing(times);
  CHECK(timing.in_bursts);
  CHECK_FALSE(timing.event_driven);
  CHECK(timing.period_s == doctest::Approx(0.003));
  CHECK(timing.mean_period_s == doctest::Approx(0.0198).epsilon(0.01));
  CHECK_FALSE(survey_timing(periodic(600, 20, 0.5, 2)).in_bursts);
}

}  // namespace foundling::test
