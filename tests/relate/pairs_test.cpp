// Extremes, copies, products and integrals, on tracks whose truth is known.
#include "decoder/relate/pairs.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "decoder/relate/extremes.h"
#include "tests/relate/made_session.h"

namespace foundling::relate {

TEST_CASE("a number sent twice is a copy, noise and all; two meters of one thing only move alike") {
  Made made;
  const Track truth = made.levels(100, 900, 25);
  const Track measured = made.noisy(truth, 2);
  made.add(measured);
  made.add(measured);
  made.add(made.noisy(truth, 2));
  const auto found = find_copies(made.seen, made.none());
  REQUIRE(found.size() == 3);
  CHECK(found[0].strong);
  CHECK(found[0].kind == PairKind::copy);
  CHECK(std::min(found[0].field, found[0].of) == 0);
  CHECK(std::max(found[0].field, found[0].of) == 1);
  CHECK(found[0].factor == doctest::Approx(1));
  for (std::size_t i = 1; i < 3; ++i) {
    CHECK(found[i].kind == PairKind::alike);
    CHECK_FALSE(found[i].strong);
  }
}

TEST_CASE("two slow swings with noise of their own are no copies") {
  Made made;
  Track swing(600);
  for (std::size_t w = 0; w < 600; ++w) swing[w] = 1000 * std::sin(static_cast<double>(w) / 9);
  made.add(made.noisy(swing, 0.3));
  made.add(made.noisy(swing, 0.3));
  for (const PairRelation& pair : find_copies(made.seen, made.none())) CHECK_FALSE(pair.strong);
}

TEST_CASE("a copy that comes later has its delay") {
  Made made;
  const Track measured = made.noisy(made.levels(100, 900, 25), 2);
  Track later = measured;
  std::rotate(later.begin(), later.end() - 3, later.end());
  made.add(measured);
  made.add(later);
  const auto found = find_copies(made.seen, made.none());
  REQUIRE(found.size() == 1);
  CHECK(std::abs(found[0].delay_s) == doctest::Approx(1.5));
  CHECK((found[0].field == 1) == (found[0].delay_s > 0));
  CHECK(found[0].kind == PairKind::copy);
}

TEST_CASE(
    "what stood at one level while one thing moved and at another for the next is no factor") {
  // Power = voltage * current, where the voltage moved only while the current rested, and something
  // else changed in between: the current is then no product of power and that.
  Made made;
  Track volt(600, 3300.0);
  Track ampere(600, 250.0);
  Track label = made.noisy(Track(600, 1000.0), 0.3);
  const Track moves = made.levels(-400, 400, 12);
  for (std::size_t w = 0; w < 600; ++w) {
    if (w < 300) volt[w] = 3300 + moves[w] / 2;
    if (w >= 300) ampere[w] = 250 + moves[w] / 2;
    if (w >= 300) label[w] += 500;
  }
  Track power(600);
  for (std::size_t w = 0; w < 600; ++w) power[w] = 0.001 * volt[w] * ampere[w];
  made.add(made.noisy(ampere, 0.1));
  made.add(made.noisy(power, 0.1));
  made.add(label);
  for (const PairRelation& one : find_products(made.seen, made.none())) CHECK_FALSE(one.strong);
}

TEST_CASE("power is the product of voltage and current, whatever constants they carry") {
  Made made;
  const Track volt = made.levels(3000, 3600, 30);
  const Track ampere = made.levels(-400, 400, 23);
  Track power(volt.size());
  for (std::size_t w = 0; w < power.size(); ++w) power[w] = 0.001 * volt[w] * ampere[w] + 500;
  const std::size_t v = made.add(made.noisy(volt, 0.3));
  Track shifted = made.noisy(ampere, 0.3);
  for (double& one : shifted) one += 32000;
  const std::size_t i = made.add(shifted);
  const std::size_t p = made.add(Made::rounded(power));
  made.add(made.noisy(made.levels(0, 1000, 31), 1));
  const auto found = find_products(made.seen, made.none());
  REQUIRE(found.size() == 1);
  CHECK(found[0].strong);
  CHECK(found[0].field == p);
  CHECK(std::min(found[0].of, found[0].other) == std::min(v, i));
  CHECK(std::max(found[0].of, found[0].other) == std::max(v, i));
  CHECK(found[0].factor == doctest::Approx(0.001).epsilon(0.02));
}

TEST_CASE("a curve of one field alone is no product of it with another") {
  Made made;
  const Track one = made.levels(100, 1000, 20);
  Track curve(one.size());
  for (std::size_t w = 0; w < one.size(); ++w) curve[w] = 20000 / (one[w] + 100);
  made.add(made.noisy(one, 0.3));
  made.add(made.noisy(curve, 0.05));
  made.add(made.noisy(made.levels(100, 1000, 27), 0.3));
  for (const PairRelation& pair : find_products(made.seen, made.none())) CHECK_FALSE(pair.strong);
}

TEST_CASE("a charge adds the current up, a trend of its own does not") {
  Made made(2400);
  const Track ampere = made.levels(-400, 400, 60);
  Track charge(ampere.size());
  Track trend(ampere.size());
  double sum = 50000;
  for (std::size_t w = 0; w < ampere.size(); ++w) {
    sum += 0.5 * (ampere[w] + 20) * 0.03;  // the board counts a constant in as well
    charge[w] = std::round(sum);
    trend[w] = std::round(30000 + 3000 * std::sin(static_cast<double>(w) / 500));
  }
  const std::size_t i = made.add(made.noisy(ampere, 1));
  const std::size_t q = made.add(charge);
  made.add(trend);
  const auto found = find_integrals(made.seen, made.none());
  const auto strong = std::ranges::count_if(found, &PairRelation::strong);
  REQUIRE(strong == 1);
  const auto& best = *std::ranges::find_if(found, &PairRelation::strong);
  CHECK(best.field == q);
  CHECK(best.of == i);
  CHECK(best.factor == doctest::Approx(0.03).epsilon(0.03));
}

namespace {

// Frames whose only field says which member is lowest, counted from 1.
MessageSeries numbers_of(const Made& made, const std::vector<std::size_t>& members) {
  MessageSeries message;
  message.length = 1;
  for (std::size_t w = 0; w < made.seen.grid.windows; ++w) {
    const auto lowest = std::ranges::min_element(
        members, {}, [&](std::size_t f) { return made.seen.tracks[f][w]; });
    message.t_ns.push_back(static_cast<std::int64_t>(w) * 500'000'000 + 1'000'000);
    message.bytes.push_back(static_cast<std::uint8_t>(1 + (lowest - members.begin())));
  }
  return message;
}

}  // namespace

TEST_CASE("lowest, highest, spread and the lowest's number are told from the members") {
  Made made(2400);
  std::vector<std::size_t> members;
  for (std::size_t i = 0; i < 6; ++i)
    members.push_back(made.add(made.levels(3000, 3400, 31 + 4 * i)));
  Track low(2400);
  Track high(2400);
  Track spread(2400);
  for (std::size_t w = 0; w < 2400; ++w) {
    low[w] = 1e9;
    for (const std::size_t f : members) {
      low[w] = std::min(low[w], made.seen.tracks[f][w]);
      high[w] = std::max(high[w], made.seen.tracks[f][w]);
    }
    spread[w] = high[w] - low[w];
  }
  const std::size_t l = made.add(made.noisy(low, 0.2));
  const std::size_t h = made.add(made.noisy(high, 0.2));
  const std::size_t s = made.add(made.noisy(spread, 0.2));
  std::vector<MessageSeries> messages(made.seen.fields.size());
  messages.push_back(numbers_of(made, members));
  const std::size_t n = made.add(Track(2400, 0.0));
  Field& number = made.seen.fields[n];
  number.place.span = *parse_span("0.7..0.0");
  number.moved_bits = 3;
  number.noise = 0;
  for (std::uint32_t w = 0; w < 2400; ++w) number.rows.push_back(w);

  const auto found = find_extremes(made.seen, messages, members, {});
  const auto said = [&](ExtremeKind kind, std::size_t field) {
    return std::ranges::any_of(found, [&](const ExtremeRelation& one) {
      return one.strong && one.kind == kind && one.field == field;
    });
  };
  CHECK(said(ExtremeKind::lowest, l));
  CHECK(said(ExtremeKind::highest, h));
  CHECK(said(ExtremeKind::spread, s));
  CHECK(said(ExtremeKind::number_of_lowest, n));
  CHECK(std::ranges::count_if(found, &ExtremeRelation::strong) == 4);
  for (const ExtremeRelation& one : found) {
    if (one.field == n) CHECK(one.constant == 1);
  }
}

TEST_CASE("a copy of the member that is always lowest is not told as the lowest") {
  Made made(1200);
  std::vector<std::size_t> members;
  for (std::size_t i = 0; i < 5; ++i) {
    members.push_back(
        made.add(made.levels(i == 0 ? 2000 : 3000, i == 0 ? 2400 : 3400, 31 + 4 * i)));
  }
  made.add(made.noisy(made.seen.tracks[members[0]], 0.2));
  const std::vector<MessageSeries> messages(made.seen.fields.size());
  for (const ExtremeRelation& one : find_extremes(made.seen, messages, members, {})) {
    CHECK_FALSE(one.strong);
  }
}

TEST_CASE("where the lowest rests, the highest is not told from the spread") {
  Made made(1200);
  std::vector<std::size_t> members{made.add(Track(1200, 2000.0))};
  for (std::size_t i = 0; i < 5; ++i)
    members.push_back(made.add(made.levels(3000, 3400, 31 + 4 * i)));
  Track high(1200);
  for (std::size_t w = 0; w < 1200; ++w) {
    for (const std::size_t f : members) high[w] = std::max(high[w], made.seen.tracks[f][w]);
  }
  made.add(made.noisy(high, 0.2));
  const std::vector<MessageSeries> messages(made.seen.fields.size());
  const auto found = find_extremes(made.seen, messages, members, {});
  CHECK_FALSE(found.empty());
  for (const ExtremeRelation& one : found) CHECK_FALSE(one.strong);
}

}  // namespace foundling::relate
