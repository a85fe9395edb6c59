// Relations on random packs whose truth is known, and none on boards without any. How many:
// FOUNDLING_RELATED_BOARDS, FOUNDLING_UNRELATED_BOARDS.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "decoder/relate/relate.h"
#include "tests/relate/related_board.h"

namespace foundling::relate {
namespace {

std::uint64_t count_from(const char* name, std::uint64_t usual) {
  const char* text = std::getenv(name);
  return text == nullptr ? usual : std::strtoull(text, nullptr, 10);
}

Relations relations_of(const RelatedBoard& board) {
  return find_relations(board.messages, survey(board.messages), board.channels);
}

bool is_at(const Field& field, const CellPlace& place) {
  return field.place.id == place.id && field.place.span.lsb == place.span.lsb &&
         field.place.span.order() == place.span.order();
}

std::size_t found_cells(const Relations& found, const RelatedBoard& board) {
  if (found.sums.empty() || !found.sums.front().strong) return 0;
  return static_cast<std::size_t>(std::ranges::count_if(board.cells, [&](const CellPlace& cell) {
    return std::ranges::any_of(found.sums.front().members,
                               [&](std::size_t f) { return is_at(found.fields[f], cell); });
  }));
}

}  // namespace

TEST_CASE("cells that move by themselves are found as members of the pack's voltage, to scale") {
  const std::uint64_t boards = count_from("FOUNDLING_RELATED_BOARDS", 2);
  std::size_t cells = 0;
  std::size_t found_all = 0;
  std::size_t scaled = 0;
  std::size_t held = 0;
  for (std::uint64_t seed = 1; seed <= boards; ++seed) {
    const RelatedBoard board(seed, {});
    const Relations found = relations_of(board);
    cells += board.cells.size();
    const std::size_t here = found_cells(found, board);
    found_all += here;
    if (!found.scale || here == 0) continue;
    const bool good = std::abs(found.scale->scale / board.scale - 1) < 0.005;
    scaled += good ? here : 0;
    const Interval& interval = found.scale->scale_interval;
    // 1.96 * 0.5 % / sqrt(3): JCGM 100:2008, 4.3.7, a rectangular distribution.
    const Interval& member = found.scale->member_interval;
    CHECK((member.high - member.low) / 2 >= 0.00565 * std::abs(found.scale->scale_fitted));
    CHECK(member.low <= interval.low);
    CHECK(member.high >= interval.high);
    held += interval.low <= board.scale && board.scale <= interval.high ? 1U : 0U;
    CHECK(found.scale->channel == "pack_voltage");
  }
  MESSAGE(found_all << " of " << cells << " cells found, " << scaled
                    << " to scale; the interval held " << held << " of " << boards << " times");
  CHECK(found_all * 10 >= cells * 9);
  CHECK(scaled * 10 >= cells * 9);
}

TEST_CASE("cells that never move by themselves are members by likeness where three others do") {
  const RelatedBoard board(7, {.cells = 14, .moved = 4});
  const Relations found = relations_of(board);
  REQUIRE(found_cells(found, board) == 14);
  CHECK(found.sums.front().members.size() == 14);
  CHECK(found.sums.front().shown.size() >= 3);
  CHECK(found.sums.front().shown.size() < 14);
}

TEST_CASE("cells that all move alike show no weights, and nothing is put forward") {
  const RelatedBoard board(3, {.moved = 0});
  const Relations found = relations_of(board);
  CHECK(std::ranges::none_of(found.sums, &SumRelation::strong));
  CHECK_FALSE(found.scale);
}

TEST_CASE("without readings there are members and no scale") {
  RelatedBoard board(5, {});
  board.channels.clear();
  const Relations found = relations_of(board);
  CHECK(found_cells(found, board) == board.cells.size());
  CHECK_FALSE(found.scale);
}

TEST_CASE("four readings are too few for a scale") {
  const RelatedBoard board(5, {.readings = 4});
  CHECK_FALSE(relations_of(board).scale);
}

TEST_CASE("what the wires drop between cells and meter is taken out by the current") {
  const RelatedBoard board(6, {.readings = 30, .wire = 0.02});
  const Relations found = relations_of(board);
  REQUIRE(found.scale);
  CHECK(found.scale->current == "pack_current");
  CHECK(found.scale->resistance == doctest::Approx(-0.02).epsilon(0.1));
  CHECK(found.scale->scale == doctest::Approx(board.scale).epsilon(0.005));
}

TEST_CASE("a sum's factor is the ratio of the scales") {
  const RelatedBoard board(8, {});
  const Relations found = relations_of(board);
  REQUIRE(found_cells(found, board) == board.cells.size());
  CHECK(is_at(found.fields[found.sums.front().total], board.total));
  CHECK(found.sums.front().factor ==
        doctest::Approx(board.scale / board.total_scale).epsilon(0.005));
}

TEST_CASE("boards whose total moves on its own make no strong relation") {
  const std::uint64_t boards = count_from("FOUNDLING_UNRELATED_BOARDS", 4);
  std::uint64_t claims = 0;
  for (std::uint64_t seed = 1; seed <= boards; ++seed) {
    const RelatedBoard board(seed + 100'000, {.has_sum = false, .seconds = 120});
    const Relations found = relations_of(board);
    claims += std::ranges::any_of(found.sums, &SumRelation::strong) ||
                      std::ranges::any_of(found.extremes, &ExtremeRelation::strong) ||
                      std::ranges::any_of(found.pairs, &PairRelation::strong)
                  ? 1U
                  : 0U;
  }
  MESSAGE(claims << " strong claims on " << boards << " boards without relations");
  CHECK(claims == 0);
}

TEST_CASE("a voltage behind a switch and a temperature's warning are found on whole boards") {
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    CAPTURE(seed);
    const RelatedBoard board(seed, {.cells = 6, .seconds = 180, .switched = true});
    const Relations found = relations_of(board);
    REQUIRE(found.gated.size() == 1);
    const GatedRelation& gated = found.gated.front();
    CHECK(gated.strong);
    CHECK(found.fields[gated.field].place.id == CanId::standard(0x210));
    CHECK(is_at(found.fields[gated.of], board.total));
    CHECK(found.bits[gated.bit].place.id == CanId::standard(0x210));
    CHECK(gated.while_set);
    CHECK(gated.factor == doctest::Approx(board.total_scale / 0.02).epsilon(0.02));
    REQUIRE(found.thresholds.size() == 1);
    const ThresholdRelation& threshold = found.thresholds.front();
    CHECK(threshold.strong);
    CHECK(found.fields[threshold.field].place.id == CanId::standard(0x420));
    // Bits beneath the noise may be left out of the field.
    const auto lowest = static_cast<int>(found.fields[threshold.field].place.span.lsb.bit);
    CHECK(std::ldexp(threshold.sets_at, lowest) == doctest::Approx(28 / 0.05).epsilon(0.03));
    CHECK(std::ldexp(threshold.clears_at, lowest) == doctest::Approx(25 / 0.05).epsilon(0.03));
  }
}

}  // namespace foundling::relate
