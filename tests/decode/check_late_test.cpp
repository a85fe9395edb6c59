// Readings that a hand wrote down late, and signals that only look so.
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "tests/decode/check_board.h"

using namespace foundling;
using namespace foundling::check_board;

TEST_CASE("readings that are written down seconds late, each by its own, do not fail a right map") {
  const auto late = [](int i) { return 0.3 * ((i * 5) % 16); };  // 0 to 4.5 s of 8 s
  const SignalCheck check = checked(right(), cell(16, late));
  CHECK(check.pass);
  CHECK(check.misfits.empty());
  CHECK(check.samples == 16);
  CHECK(check.largest < 0.002);
}

TEST_CASE(
    "a signal that comes to its level slowly, as its map does not say, is not taken for late") {
  // A map that has all of the lag as pure delay: a third of the way is left when it calls the
  // signal settled.
  constexpr double short_s = 3;
  // Large steps, and after each a small one: where a signal comes to its own level it comes near
  // the next one too.
  const auto levels = [](int i) {
    const int k = i / 2;
    return 2 + 0.1 * ((k * k * 7) % 17) + 0.02 * (i % 2);
  };
  Board board;
  board.seconds = 60 * short_s;
  board.truth = [&](double t) {
    double value = levels(0);
    for (int i = 1; i * short_s <= t; ++i) {
      value += (levels(i) - levels(i - 1)) * (1 - std::exp(-(t - i * short_s) / 0.1));
    }
    return value;
  };
  ChannelSeries channel = cell(
      60, [](int) { return 0.0; }, levels);
  for (Reading& reading : channel.readings) {
    reading.t_ns = static_cast<std::int64_t>(static_cast<double>(reading.t_ns) * short_s / hold_s);
  }
  SignalMap map = map_of(board);
  map.messages[0].signals[0].delay_s = 0.1;
  const MapCheck check = check_map(map, std::vector{frames_of(board)}, std::vector{channel}, {});
  REQUIRE(check.signals.size() == 1);
  CHECK(check.signals[0].pass);
  CHECK(check.signals[0].misfits.empty());
}

TEST_CASE(
    "words that are written down seconds late do not fail a right map, but a stuck one fails") {
  Board board;
  ChannelSeries relay{{"relay", "state", ChannelKind::hold}, {}};
  for (int i = 0; i < 16; ++i) {
    Reading reading;
    reading.t_ns = static_cast<std::int64_t>((i * hold_s + 0.35 * ((i * 5) % 16)) * 1e9);
    reading.state = i % 2 == 1 ? "closed" : "open";
    relay.readings.push_back(reading);
  }
  board.closed = [](double t) { return static_cast<int>(t / hold_s) % 2 == 1; };
  CHECK(checked(board, relay).pass);
  for (const bool stuck : {false, true}) {
    board.closed = [stuck](double) { return stuck; };
    const SignalCheck check = checked(board, relay);
    CHECK_FALSE(check.pass);
    CHECK(check.tested);
  }
}

TEST_CASE("frames before the moment at which a reading was asked for are the level before's") {
  // A dip towards the next level long before anybody was asked to set it.
  Board board = right();
  board.truth = [](double t) {
    const bool dip = static_cast<int>(t / hold_s) == 4 && std::fmod(t, hold_s) > 2;
    return dip ? level(5) : stepped(t);
  };
  ChannelSeries channel = cell(16);
  CHECK(checked(board, channel).misfits.empty());  // it may have been set, and written down late
  channel.readings[5].earliest_ns = static_cast<std::int64_t>((5 * hold_s - 0.5) * 1e9);
  const SignalCheck check = checked(board, channel);
  REQUIRE(check.misfits.size() == 1);
  CHECK(check.misfits[0].reading == 104);
}

TEST_CASE("a signal that leaves its level for another than the next reading's is not excused") {
  Board board = right();
  board.truth = [](double t) {  // the second half of the fifth plateau, a third of a volt off
    const bool off = static_cast<int>(t / hold_s) == 4 && std::fmod(t, hold_s) > hold_s / 2;
    return off ? stepped(t) + (level(5) > level(4) ? -0.3 : 0.3) : stepped(t);
  };
  const SignalCheck check = checked(board, cell(16));
  REQUIRE(check.misfits.size() == 1);
  CHECK(check.misfits[0].reading == 104);
}
