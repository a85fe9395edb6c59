#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <string>

#include "decoder/analysis/series_name.h"
#include "tests/analysis/series_board.h"

using namespace foundling;
using namespace foundling::test;

namespace {

std::map<std::string, Proposal> inferred(const SeriesBoard& board) {
  const Survey found = survey(board.messages);
  std::map<std::string, Proposal> out;
  for (Proposal& p : correlate(board.messages, board.channels, found).proposals) {
    if (p.inferred) out.emplace(p.channel, std::move(p));
  }
  return out;
}

std::string place_of(const Proposal& p) {
  std::string text = std::to_string(p.place.id.number()) + ":";
  if (p.place.page) text += std::to_string(p.place.page->value) + ":";
  return text + to_string(p.place.span);
}

}  // namespace

TEST_CASE("a name's number is read wherever it stands") {
  const auto middle = numbered_names("cell_03_voltage");
  REQUIRE(middle.size() == 1);
  CHECK(middle[0].number == 3);
  CHECK(middle[0].with(17) == "cell_17_voltage");
  CHECK(middle[0].with(4) == "cell_04_voltage");
  const auto two = numbered_names("pack2_cell_9");
  REQUIRE(two.size() == 2);
  CHECK(two[0].with(3) == "pack3_cell_9");
  CHECK(two[1].with(10) == "pack2_cell_10");
  CHECK(numbered_names("pack_voltage").empty());
  CHECK(numbered_names("serial_12345678").empty());
}

TEST_CASE("cells that nobody moved are inferred on every page, and called weak") {
  const auto found = inferred(make_series_board({}));
  CHECK(found.size() == 27);
  for (int n = 1; n <= 30; ++n) {
    if (n == 5 || n == 12 || n == 22) continue;
    const std::string name = (n < 10 ? "cell_0" : "cell_") + std::to_string(n);
    CAPTURE(name);
    REQUIRE(found.contains(name));
    const Proposal& p = found.at(name);
    const int byte = 1 + (n - 1) % 3 * 2;
    CHECK(place_of(p) == std::to_string(0x1B0) + ":" + std::to_string((n - 1) / 3) + ":" +
                             std::to_string(byte) + ".7.." + std::to_string(byte + 1) + ".0");
    CHECK(p.verdict == Verdict::weak);
    CHECK(p.levels == 0);
    CHECK(p.scale == 0.001);
    CHECK(p.note.find("continues cell_05, cell_12, cell_22 (3 tested)") == 0);
    CHECK(p.note.find("the sum of 30 members") != std::string::npos);
    CHECK(p.note.find("agrees with pack_voltage") != std::string::npos);
  }
}

TEST_CASE("cells in one long frame are inferred from two that were moved") {
  SeriesWishes wishes;
  wishes.row = Row::one_frame;
  wishes.cells = 28;
  wishes.moved = {9, 20};
  const auto found = inferred(make_series_board(wishes));
  CHECK(found.size() == 26);
  REQUIRE(found.contains("cell_01"));
  CHECK(place_of(found.at("cell_01")) == std::to_string(0x2A0) + ":2.7..3.0");
  REQUIRE(found.contains("cell_28"));
  CHECK(place_of(found.at("cell_28")) == std::to_string(0x2A0) + ":56.7..57.0");
}

TEST_CASE("in a row with gaps only cells evenly between two moved ones are inferred") {
  SeriesWishes wishes;
  wishes.row = Row::one_frame;
  wishes.cells = 16;
  wishes.gap_every = 4;  // 1-4, 5-8, 9-12, 13-16
  wishes.moved = {1, 2, 4, 6, 9, 10, 12, 13};
  const auto found = inferred(make_series_board(wishes));
  CHECK(found.size() == 2);  // 5 and 7, 8 have a gap on one side, 14 to 16 nobody beyond
  REQUIRE(found.contains("cell_03"));
  CHECK(place_of(found.at("cell_03")) == std::to_string(0x2A0) + ":6.7..7.0");
  REQUIRE(found.contains("cell_11"));
  CHECK(place_of(found.at("cell_11")) == std::to_string(0x2A0) + ":24.7..25.0");
  CHECK(found.at("cell_11").note.find("sum") == std::string::npos);
}

TEST_CASE("cells on consecutive identifiers are inferred") {
  SeriesWishes wishes;
  wishes.row = Row::identifiers;
  wishes.cells = 24;
  wishes.moved = {3, 10, 21};
  const auto found = inferred(make_series_board(wishes));
  CHECK(found.size() == 21);
  REQUIRE(found.contains("cell_01"));
  CHECK(place_of(found.at("cell_01")) == std::to_string(0x300) + ":0.7..1.0");
  REQUIRE(found.contains("cell_24"));
  CHECK(place_of(found.at("cell_24")) == std::to_string(0x305) + ":6.7..7.0");
}

TEST_CASE("the run ends where nothing is connected, and the sum still agrees") {
  SeriesWishes wishes;
  wishes.empty_from = 26;
  const auto found = inferred(make_series_board(wishes));
  CHECK(found.size() == 22);
  CHECK(found.contains("cell_25"));
  CHECK_FALSE(found.contains("cell_26"));
}

TEST_CASE("numbers that do not follow the places leave the series alone") {
  SeriesWishes wishes;
  wishes.misnumbered = 12;
  CHECK(inferred(make_series_board(wishes)).empty());
}

TEST_CASE("one moved cell says nothing about the others") {
  SeriesWishes wishes;
  wishes.moved = {12};
  CHECK(inferred(make_series_board(wishes)).empty());
}

TEST_CASE("a sum that is not the pack's is said so") {
  SeriesBoard board = make_series_board({});
  for (Reading& r : board.channels.back().readings) r.value *= 0.9;
  const auto found = inferred(board);
  REQUIRE(found.contains("cell_01"));
  CHECK(found.at("cell_01").note.find("does not agree with any reading, not with pack_voltage") !=
        std::string::npos);
}
