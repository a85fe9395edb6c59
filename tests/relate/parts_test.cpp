// The parts that relations are made of.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "decoder/relate/chance.h"
#include "decoder/relate/fields.h"
#include "decoder/relate/joined_bits.h"
#include "decoder/relate/linear.h"
#include "decoder/relate/settled.h"

namespace foundling::relate {

TEST_CASE("a fit through the origin solves NoInt1 of NIST's reference data") {
  // NIST Statistical Reference Datasets, NoInt1 (linear regression without an intercept):
  // B1 = 2.07438016528926, standard deviation 0.0165289256198347. x = 60..70, y = 130..140.
  std::vector<double> x;
  std::vector<double> y;
  for (int i = 0; i <= 10; ++i) {
    x.push_back(60 + i);
    y.push_back(130 + i);
  }
  const std::vector<std::vector<double>> columns{x};
  const Fit found = fit(columns, y, 0);
  REQUIRE(found.ok);
  CHECK(found.slope[0] == doctest::Approx(2.07438016528926).epsilon(1e-8));
  CHECK(found.deviation[0] == doctest::Approx(0.0165289256198347).epsilon(1e-7));
}

TEST_CASE("errors in both do not flatten a line, errors left unsaid do") {
  std::mt19937_64 random(4);
  std::normal_distribution<double> normal;
  std::vector<double> x;
  std::vector<double> y;
  for (int i = 0; i < 4000; ++i) {
    const double truth = 3 * normal(random);
    x.push_back(truth + normal(random));
    y.push_back(2 * truth + normal(random));
  }
  CHECK(line_through_zero(x, y, 1, 1).slope == doctest::Approx(2).epsilon(0.02));
  CHECK(line_through_zero(x, y, 0, 1).slope == doctest::Approx(1.8).epsilon(0.02));
}

TEST_CASE("one large step in both series is no evidence, whatever it explains") {
  std::vector<double> x(100, 0.01);
  std::vector<double> y(100, -0.01);
  x[40] = y[40] = 1000;
  CHECK(spread_over(y) < 1.1);
  CHECK(chance_of(x, y, 1, 1) == 1);
}

TEST_CASE("the chance holds for as many as were tried, and is 1 for noise") {
  std::mt19937_64 random(9);
  std::normal_distribution<double> normal;
  std::vector<double> x;
  std::vector<double> y;
  std::vector<double> other;
  for (int i = 0; i < 60; ++i) {
    x.push_back(normal(random));
    y.push_back(x.back() + 0.05 * normal(random));
    other.push_back(normal(random));
  }
  CHECK(chance_of(x, y, 1, 1) < 1e-20);
  CHECK(chance_of(x, y, 1000, 1) == doctest::Approx(1000 * chance_of(x, y, 1, 1)));
  CHECK(chance_of(x, other, 1, 1) > 0.05);
}

TEST_CASE("two slow swings that go together are no evidence: each goes on as it went before") {
  std::vector<double> x;
  std::vector<double> y;
  for (int i = 0; i < 900; ++i) {
    x.push_back(std::sin(i / 60.0));
    y.push_back(std::sin(i / 60.5));
  }
  CHECK(chance_of(x, y, 1000, 1) == 1);
}

TEST_CASE("only windows in which nothing moves are compared") {
  Track track(60, 100.0);
  for (std::size_t w = 30; w < 60; ++w) track[w] = 200;
  track[29] = 140;  // on its way
  const Steps steps = settled_steps(motion_of(track));
  for (const auto& [from, to] : steps) {
    CHECK(from != 29);
    CHECK(to != 29);
  }
  const std::vector<double> moved = differences(track, steps);
  CHECK(std::ranges::count(moved, 100.0) == 1);
  CHECK(std::ranges::count(moved, 0.0) == static_cast<std::ptrdiff_t>(moved.size()) - 1);
}

TEST_CASE("neighbouring fields are two numbers, in either byte order") {
  std::mt19937_64 random(2);
  std::normal_distribution<double> normal(0, 1.5);
  for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
    const std::uint8_t low = order == ByteOrder::big ? 1 : 0;
    const auto one = *Span::from_lsb({low, 0}, 16, order);
    const auto two = *Span::from_lsb({static_cast<std::uint8_t>(low + 2), 0}, 16, order);
    MessageSeries message;
    message.length = 4;
    double a = 3300;
    double b = 3310;
    std::vector<std::uint32_t> rows;
    for (std::uint32_t i = 0; i < 4000; ++i) {
      if (i % 90 == 0) a = 3000 + static_cast<double>(random() % 1000);
      if (i % 70 == 0) b = 3000 + static_cast<double>(random() % 1000);
      std::array<std::uint8_t, 4> bytes{};
      insert(one, static_cast<std::uint64_t>(std::llround(a + normal(random))), bytes);
      insert(two, static_cast<std::uint64_t>(std::llround(b + normal(random))), bytes);
      message.t_ns.push_back(i * 10'000'000LL);
      message.bytes.insert(message.bytes.end(), bytes.begin(), bytes.end());
      rows.push_back(i);
    }
    const auto spans = joined_bits(message, rows, std::vector<bool>(32), order);
    REQUIRE(spans.size() == 2);
    CHECK(std::ranges::count(spans, one.lsb, &Span::lsb) == 1);
    CHECK(std::ranges::count(spans, two.lsb, &Span::lsb) == 1);
    CHECK(spans[0].order() == order);
  }
}

TEST_CASE("a flag above a number is not of it, though both move rarely") {
  std::mt19937_64 random(5);
  MessageSeries message;
  message.length = 2;
  std::vector<std::uint32_t> rows;
  std::uint64_t code = 0x300;
  std::uint64_t flag = 0;
  for (std::uint32_t i = 0; i < 4000; ++i) {
    if (i % 250 == 0) code = random() % 4096;
    if (i % 330 == 100) flag ^= 1U;
    std::array<std::uint8_t, 2> bytes{};
    insert(*parse_span("0.3..1.0"), std::clamp<std::uint64_t>(code + random() % 5, 0, 4095), bytes);
    insert(*parse_span("0.4"), flag, bytes);
    message.t_ns.push_back(i * 10'000'000LL);
    message.bytes.insert(message.bytes.end(), bytes.begin(), bytes.end());
    rows.push_back(i);
  }
  const auto spans = joined_bits(message, rows, std::vector<bool>(16), ByteOrder::big);
  std::string text;
  for (const Span& span : spans) text += to_string(span) + ' ';
  CHECK(text == "0.4 0.3..1.0 ");
}

TEST_CASE("a page whose field seems to be two is read as the other pages are") {
  const auto whole = *parse_span("1.5..2.0");
  std::vector<std::vector<Span>> pages(6, {whole});
  pages[3] = {*parse_span("1.5..1.1"), *parse_span("1.0..2.0")};
  join_as_on_other_pages(pages);
  for (const auto& spans : pages) CHECK(spans == std::vector{whole});
}

TEST_CASE("a field that crosses zero is read with a sign, one that does not without") {
  std::mt19937_64 random(6);
  MessageSeries message;
  message.length = 4;
  const auto one = *parse_span("0.7..1.0");
  const auto two = *parse_span("2.7..3.0");
  double level = 0;
  for (int i = 0; i < 3000; ++i) {
    if (i % 40 == 0) level = static_cast<double>(random() % 2000) - 1000;
    std::array<std::uint8_t, 4> bytes{};
    const auto code = static_cast<std::int64_t>(level) + static_cast<std::int64_t>(random() % 5);
    insert(one, static_cast<std::uint64_t>(code) & 0xFFFFU, bytes);
    insert(two, static_cast<std::uint64_t>(code + 20000), bytes);
    message.t_ns.push_back(i * 10'000'000LL);
    message.bytes.insert(message.bytes.end(), bytes.begin(), bytes.end());
  }
  const std::vector messages{message};
  Survey known;
  known.messages.emplace_back();
  const auto fields = find_fields(messages, known);
  REQUIRE(fields.size() == 2);
  CHECK(fields[0].is_signed);
  CHECK(std::abs(fields[0].level) < 1000);
  CHECK_FALSE(fields[1].is_signed);
  CHECK(fields[1].level > 19000);
}

}  // namespace foundling::relate
