#include "decoder/against/fields.h"

#include <doctest/doctest.h>

#include <functional>
#include <random>
#include <string>

#include "decoder/against/counting.h"

namespace foundling::held {
namespace {

using Fill = std::function<void(std::span<std::uint8_t> row, std::mt19937_64& random)>;

MessageSeries series_of(std::uint64_t seed, const Fill& fill) {
  std::mt19937_64 random(seed);
  MessageSeries series;
  series.id = CanId::standard(0x100);
  series.length = 8;
  for (std::size_t i = 0; i < 600; ++i) {
    series.t_ns.push_back(static_cast<std::int64_t>(i) * 10'000'000);
    series.bytes.resize((i + 1) * 8, 0);
    fill(std::span(series.bytes).last(8), random);
  }
  return series;
}

std::string fields_between(const Fill& fill_a, const Fill& fill_b) {
  const MessageSeries a = series_of(1, fill_a);
  const MessageSeries b = series_of(2, fill_b);
  MessagePair pair;
  pair.a.series = &a;
  pair.b.series = &b;
  std::string text;
  for (const Span& span : changing_fields(pair, streams_of(pair, {}).front(), {})) {
    text += to_string(span) + ' ';
  }
  return text;
}

Fill walking(const char* span, int start, int* value) {
  *value = start;
  const Span at = *parse_span(span);
  return [at, value](std::span<std::uint8_t> row, std::mt19937_64& random) {
    *value += static_cast<int>(random() % 5) - 2;
    insert(at, static_cast<std::uint64_t>(*value), row);
  };
}

}  // namespace

TEST_CASE("a walking number is one field, in either byte order") {
  int value = 0;
  // Around a carry, so that both bytes move.
  CHECK(fields_between(walking("2.7..3.0", 0x1200, &value), walking("2.7..3.0", 0x1200, &value))
            .find("..3.0 ") != std::string::npos);
  const std::string little =
      fields_between(walking("3.7..2.0", 0x1200, &value), walking("3.7..2.0", 0x1200, &value));
  CHECK(little.find("..2.0 ") != std::string::npos);
  CHECK(little.find(' ') == little.size() - 1);
}

TEST_CASE("bits that stand still at other values join the moving ones right below them") {
  // 0x10xx and 0x1Fxx: bits 11..8 differ and stand still, the byte below moves.
  const Fill noisy_a = [](std::span<std::uint8_t> row, std::mt19937_64& random) {
    row[0] = 0x10;
    row[1] = static_cast<std::uint8_t>(random());
  };
  const Fill noisy_b = [](std::span<std::uint8_t> row, std::mt19937_64& random) {
    row[0] = 0x1F;
    row[1] = static_cast<std::uint8_t>(random());
  };
  CHECK(fields_between(noisy_a, noisy_b) == "0.3..1.0 ");
}

TEST_CASE("two constants that differ are two fields where bits between them are alike") {
  const auto constant = [](std::uint8_t first, std::uint8_t second) {
    return [=](std::span<std::uint8_t> row, std::mt19937_64&) {
      row[0] = first;
      row[4] = second;
    };
  };
  CHECK(fields_between(constant(0x01, 0x80), constant(0x03, 0x00)) == "0.1 4.7 ");
}

TEST_CASE("an uptime is a steady line, a drift with noise and a falling count are none") {
  std::vector<std::int64_t> t_ns;
  std::vector<std::uint64_t> uptime;
  std::vector<std::uint64_t> falling;
  std::vector<std::uint64_t> drift;
  std::mt19937_64 random(3);
  for (std::size_t i = 0; i < 500; ++i) {
    t_ns.push_back(static_cast<std::int64_t>(i) * 20'000'000);
    uptime.push_back(7000 + i * 20 + random() % 3);
    falling.push_back(90000 - i * 20);
    drift.push_back(500 + i / 8 + random() % 4);
  }
  const auto line = steady_line(t_ns, uptime);
  REQUIRE(line);
  CHECK(line->per_second == doctest::Approx(1000).epsilon(0.01));
  CHECK_FALSE(steady_line(t_ns, falling));
  CHECK_FALSE(steady_line(t_ns, drift));
}

}  // namespace foundling::held
