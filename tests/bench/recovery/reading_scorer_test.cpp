// What the scorer makes of readings that an answer calls unfit. Each case spoils the perfect answer
// in one way.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "tests/bench/recovery/perfect_answer.h"
#include "tests/bench/recovery/score.h"
#include "tests/bench/recovery/shared_boards.h"
#include "tests/bench/recovery/slip_kinds.h"

using namespace foundling;
using namespace foundling::recovery;

namespace {

const RandomBoard& slipped() { return board_of(Family::slips_10, 1); }

Figures figures_of(const RandomBoard& board, const Correlation& answer) {
  return score_board(board, Survey{}, answer).figures;
}

bool is_excited(const RandomBoard& board, const std::string& name) {
  const auto& channels = board.truth.channels;
  return std::any_of(channels.begin(), channels.end(), [&](const TrueChannel& channel) {
    return channel.name == name && channel.excited;
  });
}

// The first reading named in an answer that belongs to an excited channel.
UnfitReading& a_named_one(const RandomBoard& board, Correlation& answer, Slip kind) {
  for (UnfitReading& unfit : answer.unfit_readings) {
    if (unfit.kind == kind && is_excited(board, unfit.channel)) return unfit;
  }
  REQUIRE_MESSAGE(false, "the board has no such slip");
  return answer.unfit_readings.front();
}

}  // namespace

TEST_CASE("each slip that is not named costs one") {
  const Figures full = figures_of(slipped(), perfect_answer(slipped()));
  CHECK(full.slips_named.of > 10);
  CHECK(full.slips_named.good == full.slips_named.of);
  const Figures none = figures_of(slipped(), Correlation{});
  CHECK(none.slips_named.of == full.slips_named.of);
  CHECK(none.slips_named.good == 0);
  CHECK(none.slip_kinds.of == 0);
  Correlation answer = perfect_answer(slipped());
  a_named_one(slipped(), answer, Slip::sign).reading = 1000000;
  const Figures one = figures_of(slipped(), answer);
  CHECK(one.slips_named.good == full.slips_named.good - 1);
  CHECK(one.accused.good == 1);  // no channel has that reading
}

TEST_CASE("a slip named under another channel is not named, and accuses that channel") {
  Correlation answer = perfect_answer(slipped());
  UnfitReading& unfit = a_named_one(slipped(), answer, Slip::digits);
  unfit.channel = "nobody";
  const Figures f = figures_of(slipped(), answer);
  CHECK(f.slips_named.good == f.slips_named.of - 1);
  CHECK(f.accused.good == 1);
}

TEST_CASE("a right reading that is called unfit is accused, whatever the family") {
  for (const Family family : {Family::plain_big, Family::late_hand, Family::slips_10}) {
    CAPTURE(name_of(family));
    const RandomBoard& board = board_of(family, 1);
    Correlation answer = perfect_answer(board);
    CHECK(figures_of(board, answer).accused.good == 0);
    for (std::size_t c = 0; c < board.channels.size(); ++c) {
      const auto& slips = board.truth.channels[c].slips;
      const Reading& reading = board.channels[c].readings.front();
      if (std::any_of(slips.begin(), slips.end(),
                      [&](const TrueSlip& slip) { return slip.reading == reading.id; }))
        continue;
      UnfitReading unfit;
      unfit.channel = board.channels[c].channel.name;
      unfit.reading = reading.id;
      answer.unfit_readings.push_back(unfit);
      answer.unfit_readings.push_back(unfit);  // twice is once
      break;
    }
    CHECK(figures_of(board, answer).accused.good == 1);
  }
}

TEST_CASE("readings that may be called right or wrong count neither way") {
  const RandomBoard& board = board_of(Family::foreign, 1);
  Correlation answer;
  for (const ChannelSeries& channel : board.channels) {
    UnfitReading unfit;
    unfit.channel = channel.channel.name;
    unfit.reading = channel.readings.front().id;
    answer.unfit_readings.push_back(unfit);
  }
  const Figures f = figures_of(board, answer);
  CHECK(f.accused.of == 0);
  CHECK(f.slips_named.of == 0);
}

TEST_CASE("the kind of a slip is right where it would have given that reading") {
  Correlation answer = perfect_answer(slipped());
  const Figures full = figures_of(slipped(), answer);
  UnfitReading& unfit = a_named_one(slipped(), answer, Slip::factor_10);
  unfit.kind = Slip::unfit;
  const Figures vague = figures_of(slipped(), answer);
  CHECK(vague.slips_named.good == full.slips_named.good);
  CHECK(vague.slip_kinds.good == full.slip_kinds.good - 1);
  unfit.kind = Slip::sign;
  CHECK(figures_of(slipped(), answer).slip_kinds.good == full.slip_kinds.good - 1);
}

TEST_CASE("a value that has come about in one of two ways is of either kind") {
  RandomBoard board;
  TrueChannel truth;
  truth.uncertainty = 0.001;
  for (const double value : {-2.0, 2.0, 20.0}) {
    Reading reading;
    reading.t_ns = static_cast<std::int64_t>(truth.honest.size()) * 10'000'000'000;
    reading.value = value;
    truth.honest.push_back(reading);
  }
  board.truth.channels = {truth, truth};
  board.truth.channels[1].honest[2].value = 5;
  board.channels = {ChannelSeries{}, ChannelSeries{}};
  Reading second = truth.honest[1];
  second.value = -2;  // the other sign, and the value before
  CHECK(could_be(Slip::sign, board, 0, second));
  CHECK(could_be(Slip::previous, board, 0, second));
  CHECK(!could_be(Slip::factor_10, board, 0, second));
  CHECK(!could_be(Slip::neighbour, board, 0, second));
  Reading third = truth.honest[2];
  third.value = 2;  // a tenth, and the value before
  CHECK(could_be(Slip::factor_10, board, 0, third));
  CHECK(could_be(Slip::previous, board, 0, third));
  CHECK(!could_be(Slip::sign, board, 0, third));
  third.value = 5;
  CHECK(could_be(Slip::neighbour, board, 0, third));
  CHECK(!could_be(Slip::unfit, board, 0, third));
}

TEST_CASE("all right is only what is right in everything") {
  const RandomBoard& board = board_of(Family::plain_little, 1);
  const Correlation perfect = perfect_answer(board);
  const Figures full = figures_of(board, perfect);
  CHECK(full.right.good == full.right.of);
  CHECK(full.right.of == full.found.of);
  const auto loses = [&](void (*spoil)(Proposal&)) {
    Correlation answer = perfect;
    for (Proposal& p : answer.proposals) {
      if (!p.states.empty() || !is_excited(board, p.channel)) continue;
      spoil(p);
      break;
    }
    const Figures f = figures_of(board, answer);
    CHECK(f.right.of == full.right.of);
    return full.right.good - f.right.good;
  };
  CHECK(loses([](Proposal& p) { p.scale *= 1.006; }) == 1);
  CHECK(loses([](Proposal& p) { p.offset += 1.5 * std::abs(p.scale); }) == 1);
  CHECK(loses([](Proposal& p) { p.place.id = CanId::standard(0x7FF); }) == 1);
  CHECK(loses([](Proposal& p) { p.untested_high_bits += 1; }) == 1);
  CHECK(loses([](Proposal& p) { p.scale_interval = {0, 0}; }) == 0);
  CHECK(loses([](Proposal& p) { p.scale *= 1.001; }) == 0);
}

TEST_CASE("a strong proposal for a channel that the board does not send is counted by itself") {
  const RandomBoard& board = board_of(Family::staircase, 1);
  Correlation answer = perfect_answer(board);
  const Figures before = figures_of(board, answer);
  CHECK(before.absent_strong.of >= 5);
  for (const TrueChannel& channel : board.truth.channels) {
    if (!channel.fields.empty()) continue;
    Proposal p = answer.proposals.front();
    p.channel = channel.name;
    answer.proposals.push_back(p);
    p.verdict = Verdict::weak;
    answer.proposals.push_back(p);
    break;
  }
  const Figures after = figures_of(board, answer);
  CHECK(after.absent_strong.good == 1);
  CHECK(after.false_strong == before.false_strong + 1);
}

TEST_CASE("the least chance stated for absent channels is kept by kind of channel") {
  const RandomBoard& board = board_of(Family::absent, 1);
  Correlation answer;
  std::array<std::size_t, StatedChances::kinds> absent{};
  for (std::size_t c = 0; c < board.channels.size(); ++c) {
    const Channel& channel = board.channels[c].channel;
    if (board.truth.channels[c].fields.empty()) ++absent[StatedChances::kind_of(channel)];
    for (const double chance : {0.04, 0.008, 0.2}) {  // sent ones do not count
      Proposal p;
      p.channel = channel.name;
      p.chance = chance;
      if (channel.is_state()) answer.proposals.push_back(p);
    }
  }
  CHECK(absent[StatedChances::hold] >= 6);
  CHECK(absent[StatedChances::sample] >= 2);
  CHECK(absent[StatedChances::state] >= 2);
  const StatedChances chances = figures_of(board, answer).chances;
  for (std::size_t k = 0; k < StatedChances::kinds; ++k) {
    CHECK(chances.stated[k] ==
          std::vector<double>(absent[k], k == StatedChances::state ? 0.008 : 1.0));
  }
  const std::string table = chances_table({{"absent", chances}});
  CHECK(table.find("absent        state ") != std::string::npos);
  CHECK(table.find("    100.0    100.0      0.0\n") != std::string::npos);
}

TEST_CASE("a channel that the board does not send is told by no field that it does send") {
  for (std::uint64_t seed = 1; seed <= 2; ++seed) {
    for (const TrueChannel& channel : board_of(Family::absent, seed).truth.channels) {
      if (channel.fields.empty()) CHECK(channel.also.empty());
    }
  }
}
