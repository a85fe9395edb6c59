#include <doctest/doctest.h>

#include <algorithm>

#include "tests/analysis/survey_board.h"

namespace foundling::test {
namespace {

struct Planted {
  const char* span;
  std::int64_t step;
  std::uint64_t modulus;
};

constexpr Planted planted_counters[] = {
    {"6.3..6.0", 1, 16},   {"6.3..6.0", 1, 15},   {"1.7..1.6", 1, 4},     {"1.1..1.0", 1, 3},
    {"2.7..2.0", 1, 256},  {"2.7..2.0", 1, 255},  {"2.7..3.0", 1, 65536}, {"3.7..2.0", 1, 65536},
    {"2.3..3.0", 1, 4096}, {"3.3..2.0", 1, 4096}, {"1.3..2.4", 1, 256},   {"4.6..4.2", 1, 32},
    {"6.3..6.0", 3, 16},   {"6.7..6.4", -1, 16},  {"2.7..2.0", 5, 256},   {"2.7..2.0", 2, 256},
    {"6.3..6.0", 1, 10},   {"7.7..7.0", 7, 251},  {"6.3..6.0", 2, 15},    {"7.3..7.0", -3, 14},
    {"5.2..5.0", 1, 8},
};

MessageSeries with_counter(const Planted& planted, std::size_t frames, std::uint64_t seed) {
  Decoys decoys(seed);
  const Span span = span_of(planted.span);
  std::uint64_t value = 0;
  return make_message(CanId::standard(0x1A4), 8, frames, [&](std::size_t, Bytes& bytes) {
    decoys.walk(bytes, 0, 3);
    decoys.noise(bytes, 2);
    decoys.noise(bytes, 3);
    decoys.walk(bytes, 4, 1);
    decoys.walk(bytes, 6, 20);
    const auto modulus = static_cast<std::int64_t>(planted.modulus);
    value = static_cast<std::uint64_t>(
        ((static_cast<std::int64_t>(value) + planted.step) % modulus + modulus) % modulus);
    insert(span, value, bytes);
  });
}

void check_found(const Survey& result, const Planted& planted) {
  CAPTURE(planted.span);
  CAPTURE(planted.modulus);
  CAPTURE(planted.step);
  const auto& counters = result.messages.at(0).counters;
  REQUIRE(counters.size() == 1);
  CHECK(to_string(counters[0].span) == std::string(planted.span));
  CHECK(counters[0].step == planted.step);
  CHECK(counters[0].modulus == planted.modulus);
  CHECK(result.messages[0].selectors.empty());
  CHECK(result.messages[0].checksums.empty());
}

}  // namespace

TEST_CASE("counters of many widths, places, orders, steps and moduli are found") {
  for (const Planted& planted : planted_counters) {
    // A wide counter needs time to wrap at all.
    const std::size_t frames = planted.modulus > 4096 ? 150'000 : 10'000;
    const std::vector<MessageSeries> messages{with_counter(planted, frames, 3)};
    check_found(survey(messages), planted);
  }
}

TEST_CASE("a counter is found although frames were lost") {
  for (const Planted& planted : planted_counters) {
    if (planted.modulus > 4096) continue;
    const std::vector<MessageSeries> messages{
        with_losses(with_counter(planted, 10'000, 5), 0.03, 6)};
    check_found(survey(messages), planted);
  }
}

TEST_CASE("a counter that has not wrapped yet goes to the end of its byte") {
  const std::vector<MessageSeries> messages{with_counter({"2.7..2.0", 1, 256}, 100, 7)};
  const Survey result = survey(messages);
  REQUIRE(result.messages[0].counters.size() == 1);
  CHECK(to_string(result.messages[0].counters[0].span) == "2.7..2.0");
}

// A small signed number beside it: 0, -1, 0, 1, 0. From 255 to 0 while the counter goes on by one
// is a wrap of 65,280, which no other value bears out.
TEST_CASE("a counter does not take in a neighbour's sign") {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    CAPTURE(seed);
    Decoys random(seed);
    std::array<std::size_t, 4> changes{};
    for (std::size_t& at : changes) at = 10 + random.below(390);
    std::ranges::sort(changes);
    const std::vector<MessageSeries> messages{
        make_message(CanId::standard(0x5C4), 8, 400, [&](std::size_t i, Bytes& bytes) {
          constexpr std::array<std::uint8_t, 5> numbers{0, 255, 0, 1, 0};
          const auto past = std::ranges::count_if(changes, [i](std::size_t at) { return at <= i; });
          bytes[5] = numbers[static_cast<std::size_t>(past)];
          bytes[6] = static_cast<std::uint8_t>(227 + i);
          random.noise(bytes, 0);
        })};
    const Survey result = survey(messages);
    REQUIRE(result.messages[0].counters.size() == 1);
    CHECK(to_string(result.messages[0].counters[0].span) == "6.7..6.0");
    CHECK(result.messages[0].counters[0].modulus == 256);
  }
}

// One frame of nothing but ones in a thousand, as at a brown-out: the bit below the counter moved
// only then.
TEST_CASE("a counter does not take in the bit that a single odd frame moved") {
  Decoys random(3);
  const std::vector<MessageSeries> messages{
      make_message(CanId::standard(0x351), 8, 1600, [&](std::size_t i, Bytes& bytes) {
        if (i == 1113) {
          bytes.fill(0xFF);
          return;
        }
        random.walk(bytes, 0, 3);
        bytes[7] = static_cast<std::uint8_t>(i % 16 << 4U);
      })};
  const Survey result = survey(messages);
  REQUIRE(result.messages[0].counters.size() == 1);
  CHECK(to_string(result.messages[0].counters[0].span) == "7.7..7.4");
  CHECK(result.messages[0].counters[0].step == 1);
}

TEST_CASE("a counter of each page is found although pages take turns") {
  Decoys decoys(11);
  std::array<unsigned, 4> count{};
  const std::vector<MessageSeries> messages{
      make_message(CanId::standard(0x2B0), 8, 4000, [&](std::size_t i, Bytes& bytes) {
        const auto page = static_cast<std::uint8_t>(i % 4);
        bytes[0] = page;
        for (std::size_t b = 1; b < 7; b += 2) decoys.walk(bytes, b, 1);
        bytes[1] = static_cast<std::uint8_t>(40 * page);
        bytes[3] = static_cast<std::uint8_t>(17 * page);
        bytes[7] = static_cast<std::uint8_t>((3U * page + count[page]++) % 16);
      })};
  const Survey result = survey(messages);
  REQUIRE(result.messages[0].selectors.size() == 1);
  CHECK(to_string(result.messages[0].selectors[0].span) == "0.7..0.0");
  REQUIRE(result.messages[0].counters.size() == 1);
  CHECK(to_string(result.messages[0].counters[0].span) == "7.3..7.0");
  CHECK(result.messages[0].counters[0].step == 1);
  CHECK(result.messages[0].counters[0].modulus == 16);
}

}  // namespace foundling::test
