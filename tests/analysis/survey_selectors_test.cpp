#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "tests/analysis/survey_board.h"

namespace foundling::test {
namespace {

struct Paged {
  const char* span;                   // of the selector
  std::vector<std::uint64_t> values;  // in the order of sending
  const char* expected;               // span claimed
  double noise;                       // of the cells, LSB
};

std::vector<std::uint64_t> first_values(std::uint64_t count) {
  std::vector<std::uint64_t> values;
  for (std::uint64_t v = 0; v < count; ++v) values.push_back(v);
  return values;
}

// Three 16-bit cells a page, at 3.3 V and a few millivolts apart, with noise.
MessageSeries paged_cells(const Paged& paged, std::size_t frames, std::uint64_t seed,
                          double millivolts_apart = 8) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> noise(0, paged.noise);
  std::normal_distribution<double> apart(0, millivolts_apart);
  std::map<std::uint64_t, std::size_t> place;  // of a page, among the pages
  for (const std::uint64_t value : paged.values) place.emplace(value, place.size());
  std::vector<double> cells(place.size() * 3);
  for (double& cell : cells) cell = 3300 + apart(random);
  const Span selector = span_of(paged.span);
  const std::size_t first = selector.last_byte() == 0 ? 2 : 0;
  return make_message(CanId::standard(0x1B0), 8, frames, [&](std::size_t i, Bytes& bytes) {
    const std::uint64_t value = paged.values[i % paged.values.size()];
    const std::size_t page = place.at(value);
    for (std::size_t k = 0; k < 3; ++k) {
      double& cell = cells[page * 3 + k];
      cell += 0.02 * noise(random);
      const auto raw = static_cast<unsigned>(std::lround(cell + noise(random)));
      bytes[first + 2 * k] = static_cast<std::uint8_t>(raw >> 8);
      bytes[first + 2 * k + 1] = static_cast<std::uint8_t>(raw);
    }
    insert(selector, value, bytes);
  });
}

// Pages 0 and 1 ahead of every `others` others.
std::vector<std::uint64_t> two_more_often(std::uint64_t pages, std::uint64_t others) {
  std::vector<std::uint64_t> round;
  for (std::uint64_t v = 2; v < pages; ++v) {
    if ((v - 2) % others == 0) round.insert(round.end(), {0, 1});
    round.push_back(v);
  }
  return round;
}

std::vector<std::uint64_t> shuffled(std::vector<std::uint64_t> values, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::shuffle(values.begin(), values.end(), random);
  return values;
}

}  // namespace

TEST_CASE("selectors of any span and set of values are found, and are no counters") {
  const std::vector<Paged> boards{
      {"0.7..0.0", first_values(10), "0.7..0.0", 0.6},
      {"0.7..0.0", first_values(34), "0.7..0.0", 1.0},
      {"0.3..0.0", first_values(16), "0.7..0.0", 0.6},
      {"0.7..0.4", first_values(16), "0.7..0.4", 0.6},
      {"7.7..7.0", first_values(25), "7.7..7.0", 0.6},
      {"6.1..6.0", first_values(4), "6.7..6.0", 0.6},
      {"7.5..7.2", {1, 2, 5, 9, 12}, "7.7..7.0", 0.6},
      {"0.7..0.0", {0x10, 0x23, 0x31, 0x47, 0xA5}, "0.7..0.0", 0.6},
      {"0.7..0.0", first_values(2), "0.7..0.0", 0.6},
      {"6.2..7.5", first_values(40), "6.2..7.5", 0.6},
      {"7.7..7.0", first_values(17), "7.7..7.0", 1.0},
      {"7.7..7.0", first_values(33), "7.7..7.0", 0.6},
  };
  for (const Paged& paged : boards) {
    CAPTURE(paged.span);
    CAPTURE(paged.values.size());
    for (const double losses : {0.0, 0.02, 0.05}) {
      const std::vector<MessageSeries> messages{
          with_losses(paged_cells(paged, 6000, 17), losses, 4)};
      const Survey result = survey(messages);
      CAPTURE(losses);
      REQUIRE(result.messages[0].selectors.size() == 1);
      CHECK(to_string(result.messages[0].selectors[0].span) == std::string(paged.expected));
      CHECK(result.messages[0].counters.empty());
    }
  }
}

TEST_CASE("pages that keep another order, or come more often than others, have a selector too") {
  const std::vector<std::vector<std::uint64_t>> orders{
      shuffled(first_values(20), 3), shuffled(first_values(60), 4), two_more_often(14, 1),
      two_more_often(30, 2),         two_more_often(40, 4),
  };
  for (const std::vector<std::uint64_t>& order : orders) {
    CAPTURE(order.size());
    for (const double losses : {0.0, 0.005}) {
      CAPTURE(losses);
      const std::vector<MessageSeries> messages{
          with_losses(paged_cells({"0.7..0.0", order, "", 0.6}, 12'000, 31), losses, 4)};
      const Survey result = survey(messages);
      REQUIRE(result.messages[0].selectors.size() == 1);
      CHECK(to_string(result.messages[0].selectors[0].span) == "0.7..0.0");
      CHECK(result.messages[0].counters.empty());
    }
  }
}

TEST_CASE("steady contents of sixty pages are not taken for their selector") {
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    CAPTURE(seed);
    const std::vector<MessageSeries> messages{
        paged_cells({"0.7..0.0", first_values(60), "", 0.2}, 20'000, seed, 60)};
    const Survey result = survey(messages);
    REQUIRE(result.messages[0].selectors.size() == 1);
    CHECK(to_string(result.messages[0].selectors[0].span) == "0.7..0.0");
    CHECK(result.messages[0].counters.empty());
  }
}

TEST_CASE("a counter and the sum over data that hardly move are no pages") {
  std::mt19937_64 random(5);
  bool is_warmer = false;
  const std::vector<MessageSeries> messages{
      make_message(CanId::standard(0x138), 8, 12'000, [&](std::size_t i, Bytes& bytes) {
        if (random() % 400 == 0) is_warmer = !is_warmer;
        bytes[0] = static_cast<std::uint8_t>(0x35 + (is_warmer && random() % 3 != 0 ? 1 : 0));
        bytes[1] = 1;
        bytes[6] = static_cast<std::uint8_t>(i % 4);
        bytes[7] = static_cast<std::uint8_t>(bytes[0] + bytes[1] + bytes[6]);
      })};
  CHECK(survey(messages).messages[0].selectors.empty());
}

TEST_CASE("a counter beside a selector stays a counter") {
  MessageSeries message = paged_cells({"0.3..0.0", first_values(10), "", 0.6}, 4000, 23);
  for (std::size_t i = 0; i < message.size(); ++i) {
    std::uint8_t& byte = message.bytes[i * message.length];
    byte = static_cast<std::uint8_t>(byte | ((i % 16) << 4));
  }
  const std::vector<MessageSeries> messages{message};
  const Survey result = survey(messages);
  REQUIRE(result.messages[0].selectors.size() == 1);
  CHECK(to_string(result.messages[0].selectors[0].span) == "0.3..0.0");
  REQUIRE(result.messages[0].counters.size() == 1);
  CHECK(to_string(result.messages[0].counters[0].span) == "0.7..0.4");
}

}  // namespace foundling::test
