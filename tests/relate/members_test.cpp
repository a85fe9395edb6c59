// What a sum is made of: rests of a total, members of one weight, other cuts of bits, chance by
// size.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include "decoder/relate/add_up.h"
#include "decoder/relate/chance.h"
#include "decoder/relate/fields.h"
#include "decoder/relate/other_cuts.h"
#include "decoder/relate/rests.h"
#include "decoder/relate/sums.h"

namespace foundling::relate {
namespace {

// Differences of fields, and of a total of some of them.
struct Moves {
  std::vector<std::vector<double>> of;
  std::vector<double> total;

  Moves(std::size_t fields, std::size_t steps) : of(fields), total(steps) {
    for (auto& one : of) {
      for (std::size_t r = 0; r < steps; ++r) one.push_back(normal(random));
    }
  }
  void add_up_to(std::vector<std::size_t> members, double noise) {
    for (std::size_t r = 0; r < total.size(); ++r) {
      for (const std::size_t i : members) total[r] += 0.1 * of[i][r];
      total[r] += noise * normal(random) / 100;
    }
  }
  [[nodiscard]] Products products() const {
    return products_of(of, total, std::vector<bool>(total.size(), true));
  }

  std::mt19937_64 random{7};
  std::normal_distribution<double> normal{0, 100};
};

Candidates all_alike(std::size_t n) {
  Candidates out{{}, std::vector<bool>(n, true), std::vector<bool>(n), {}};
  for (std::size_t i = 0; i < n; ++i) out.fields.push_back(i);
  out.overlaps.resize(n);
  return out;
}

using Chosen = std::vector<std::size_t>;

}  // namespace

TEST_CASE("a total rests between its changes, and what has just changed has not settled") {
  Track track(40, 100.0);
  for (std::size_t w = 20; w < 40; ++w) track[w] = 150;
  const std::vector<Rest> rests = rests_of(track, 0.3);
  REQUIRE(rests.size() == 2);
  CHECK(rests[0].to <= 20);
  CHECK(rests[1].from >= 25);
  CHECK(means_in(track, rests) == std::vector<double>{100, 150});
}

TEST_CASE("a total that flickers by one code rests all the same") {
  Track track(64, 100.0);
  for (std::size_t w = 0; w < 64; w += 3) track[w] = 101;
  for (const Rest& rest : rests_of(track, 0.3)) CHECK(rest.to - rest.from >= 8);
}

TEST_CASE("a total that rests exactly but for a code now and then rests all the same") {
  Track track(64, 100.0);
  track[20] = track[45] = 101;
  CHECK(rests_of(track, 0.3) == rests_of(Track(64, 100.0), 0.3));
  CHECK(rests_of(track, 0.1) != rests_of(Track(64, 100.0), 0.1));  // more than rounding
}

TEST_CASE("a long rest is cut, so that what moves meanwhile shows that it is no part of it") {
  const std::vector<Rest> rests = rests_of(Track(200, 100.0), 0.3);
  CHECK(rests.size() >= 10);
  for (const Rest& rest : rests) CHECK(rest.to - rest.from <= 16);
}

TEST_CASE("what never rests is cut evenly") {
  Track track;
  for (int w = 0; w < 160; ++w) track.push_back(10.0 * w);
  CHECK(rests_of(track, 0.3).size() == 10);
}

TEST_CASE("a rest in which a field says nothing has no mean") {
  const Track track(8, std::nan(""));
  CHECK(std::isnan(means_in(track, {{0, 8}}).front()));
}

TEST_CASE("members of a sum are chosen among alike fields, strangers that move are left out") {
  Moves moves(12, 40);
  moves.add_up_to({0, 2, 3, 5, 8}, 0.1);
  CHECK(add_up(moves.products(), all_alike(12), 1e-6) == Chosen{0, 2, 3, 5, 8});
}

TEST_CASE("an alike field that never moved stays a member, an unlike one does not become one") {
  Moves moves(6, 40);
  for (double& one : moves.of[4]) one *= 1e-6;
  for (double& one : moves.of[5]) one *= 1e-6;
  moves.add_up_to({0, 1, 2}, 0.1);
  Candidates candidates = all_alike(6);
  candidates.alike[5] = false;
  CHECK(add_up(moves.products(), candidates, 1e-6) == Chosen{0, 1, 2, 4});
}

TEST_CASE("a field at another level is a member where the sum needs it") {
  Moves moves(6, 40);
  moves.add_up_to({0, 1, 2, 5}, 0.1);
  Candidates candidates = all_alike(6);
  candidates.alike[5] = false;
  CHECK(add_up(moves.products(), candidates, 1e-6) == Chosen{0, 1, 2, 5});
}

namespace {

constexpr double left = 0.03;  // of the total that no field explains
constexpr double steps = 40;

// Three fields of one weight and the size 1, and a fourth, none of which moved with another.
Products four_fields(double fourth, bool in_the_total) {
  Products out;
  out.yy = 3 + left + (in_the_total ? fourth : 0);
  out.xy = {1, 1, 1, in_the_total ? fourth : 0};
  out.xx = {{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, fourth}};
  out.n = steps;
  return out;
}

// The size with which a field that is in no total costs so many nats if it is taken for a member.
double stranger_of(double nats) {
  const double without = left / (3 + left);
  return 9 / ((3 + left) * (1 - without * std::exp(2 * nats / steps))) - 3;
}

// The size with which a member is worth so many nats.
double member_of(double nats) { return left * (std::exp(2 * nats / steps) - 1); }

}  // namespace

TEST_CASE("an alike field stays out where it costs more than the four nats of a stranger") {
  const Candidates alike = all_alike(4);
  CHECK(add_up(four_fields(stranger_of(3), false), alike, 0) == Chosen{0, 1, 2, 3});
  CHECK(add_up(four_fields(stranger_of(5), false), alike, 0) == Chosen{0, 1, 2});
}

TEST_CASE("an unlike field is a member where it is worth more than its six nats") {
  Candidates one_unlike = all_alike(4);
  one_unlike.alike[3] = false;
  CHECK(add_up(four_fields(member_of(5), true), one_unlike, 0) == Chosen{0, 1, 2});
  CHECK(add_up(four_fields(member_of(7), true), one_unlike, 0) == Chosen{0, 1, 2, 3});
}

TEST_CASE("a whole field is taken instead of a piece of it, never both") {
  Moves moves(6, 40);
  for (std::size_t r = 0; r < 40; ++r) moves.of[5][r] = 0.02 * moves.of[4][r] + 1;
  moves.add_up_to({0, 1, 4}, 0.1);
  Candidates candidates = all_alike(6);
  candidates.alike[4] = false;
  candidates.overlaps[4] = {5};
  candidates.overlaps[5] = {4};
  CHECK(add_up(moves.products(), candidates, 1e-6) == Chosen{0, 1, 4});
}

TEST_CASE("a member's own weight is known as well as its own motion is") {
  Moves moves(3, 50);
  moves.add_up_to({0, 1, 2}, 2);
  const OwnWeight weight = own_weight(moves.products(), {0, 1, 2}, 1, 1e-9);
  CHECK(weight.common == doctest::Approx(0.1).epsilon(0.02));
  CHECK(weight.own == doctest::Approx(0.1).epsilon(0.02));
  CHECK(weight.deviation > 0.001);
  CHECK(weight.deviation < 0.01);
}

TEST_CASE("a member that always moved as the others did shows no weight of its own") {
  Moves moves(3, 50);
  for (std::size_t r = 0; r < 50; ++r) moves.of[2][r] = moves.of[0][r] + moves.of[1][r];
  moves.add_up_to({0, 1, 2}, 0);
  CHECK(own_weight(moves.products(), {0, 1, 2}, 2, 1e-9).deviation == 0);
}

TEST_CASE("by size, one or two large steps in common are no evidence, many small ones are") {
  std::vector<double> x(60, 0.01);
  std::vector<double> y(60, -0.01);
  x[10] = y[10] = 1000;
  x[40] = y[40] = -900;
  CHECK(chance_by_size(x, y, 1, 1) == 1);
  std::mt19937_64 random(3);
  std::normal_distribution<double> normal;
  for (std::size_t i = 0; i < 60; ++i) {
    if (i == 10 || i == 40) continue;
    x[i] = normal(random);
    y[i] = x[i] + 0.01 * normal(random);
  }
  CHECK(chance_by_size(x, y, 1, 1) < 1e-20);
  CHECK(chance_by_size(x, y, 1, 1000) == doctest::Approx(1000 * chance_by_size(x, y, 1, 1)));
}

TEST_CASE("by size, two things that one switch moves back and forth are no evidence") {
  std::vector<double> x;
  std::vector<double> y;
  for (int i = 0; i < 40; ++i) {
    x.push_back(i % 2 == 0 ? 100 : -100);
    y.push_back(x.back() + i % 3 - 1);
  }
  CHECK(chance_by_size(x, y, 1, 1000) == 1);
}

namespace {

constexpr std::size_t cells = 6;

Span cell_span(std::size_t cell) {
  return *Span::from_lsb({static_cast<std::uint8_t>(2 * cell + 1), 0}, 16, ByteOrder::big);
}

// Six cells of two bytes each.
std::vector<MessageSeries> cells_message() {
  std::mt19937_64 random(8);
  MessageSeries message;
  message.length = 2 * cells;
  std::array<std::uint64_t, cells> codes{};
  codes.fill(600);
  for (int i = 0; i < 2000; ++i) {
    if (i % 50 == 0) codes[random() % cells] = 560 + random() % 120;
    std::array<std::uint8_t, 2 * cells> bytes{};
    for (std::size_t c = 0; c < cells; ++c) insert(cell_span(c), codes[c] + random() % 2, bytes);
    message.t_ns.push_back(i * 20'000'000LL);
    message.bytes.insert(message.bytes.end(), bytes.begin(), bytes.end());
  }
  return {message};
}

Field field_at(const std::vector<MessageSeries>& messages, const Span& span) {
  Field field;
  field.place.span = span;
  field.moved_bits = 8;
  field.period_s = 0.02;
  field.rows = rows_on(messages.front(), std::nullopt);
  measure(messages.front(), field);
  return field;
}

}  // namespace

TEST_CASE("a place of a row's width at a row's level is offered whole, whatever was found there") {
  const auto messages = cells_message();
  Survey known;
  known.messages.emplace_back();
  std::vector<Field> fields;
  for (std::size_t c = 0; c + 1 < cells; ++c) {
    fields.push_back(field_at(messages, cell_span(c)));
  }
  const Field piece = field_at(messages, *parse_span("11.3..11.0"));
  fields.push_back(piece);
  const std::vector<Field> cuts = other_cuts(messages, known, fields);
  REQUIRE(cuts.size() == 1);
  CHECK((cuts.front().place.span == cell_span(cells - 1)));
  CHECK(cuts.front().is_other_cut);
  CHECK(cuts.front().moved_bits >= 7);
  CHECK(share_bits(cuts.front(), piece));
  CHECK_FALSE(share_bits(fields[0], fields[0]));
}

TEST_CASE("a message that is filled up with ones has its fields") {
  std::mt19937_64 random(9);
  MessageSeries message;
  message.length = 8;
  std::uint64_t level = 0;
  for (int i = 0; i < 2000; ++i) {
    std::array<std::uint8_t, 8> bytes{};
    bytes.fill(0xFF);
    if (i % 40 == 0) level = 3000 + random() % 1000;
    insert(*parse_span("0.7..1.0"), level + random() % 8, bytes);
    message.t_ns.push_back(i * 20'000'000LL);
    message.bytes.insert(message.bytes.end(), bytes.begin(), bytes.end());
  }
  Survey known;
  known.messages.emplace_back();
  const auto fields = find_fields(std::vector{message}, known);
  REQUIRE_FALSE(fields.empty());
  CHECK((fields.back().place.span.lsb == BitPosition{1, 0}));
}

}  // namespace foundling::relate
