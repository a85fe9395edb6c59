// Each rule of the check's verdict, on a planted board with one cell, one temperature, one relay.
#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "decoder/decode/check_verdict.h"
#include "tests/decode/check_board.h"

using namespace foundling;
using namespace foundling::check_board;

TEST_CASE("the tolerance is of the range that was driven, not of the largest reading") {
  const SignalCheck check = checked(right(), cell(16));
  CHECK(check.range == doctest::Approx(1.6));
  CHECK(check.tolerance == doctest::Approx(0.005 * 1.6 + 2 * 0.001 + 2 * 0.0005));
  CHECK(check.tested);
  CHECK(check.pass);
}

TEST_CASE("the tolerance is never more than a twentieth of the range that was driven") {
  Board coarse = right();
  coarse.scale = 0.06;
  coarse.bias = 0.08;
  const SignalCheck check = checked(coarse, cell(16));
  CHECK(check.tolerance == doctest::Approx(0.05 * 1.6));
  CHECK_FALSE(check.pass);
  CHECK_FALSE(check.tested);
  CHECK(
      check.reason ==
      "the range of 1.6 V is too small for steps of 0.06 V or for what the readings are known to");
}

TEST_CASE("a gain of 0.44 fails, also beside a reading of 314 V") {
  Board board = right();
  board.gain = 0.44;
  board.bias = 1.5;
  CHECK_FALSE(checked(board, cell(16)).pass);
  const SignalCheck check = checked(
      board, cell(
                 16, [](int) { return 0.0; }, [](int i) { return i == 5 ? 314 : level(i); }));
  CHECK_FALSE(check.pass);
  CHECK(check.tested);
  CHECK(check.tolerance < 0.1);
}

TEST_CASE("a gain outside 0.95 to 1.05 fails even where all errors are within the tolerance") {
  CheckOptions wide;
  wide.steps = 200;
  wide.most = 0.25;
  Board board = right();
  board.gain = 0.9;
  board.bias = 0.28;
  const SignalCheck check = checked(board, cell(16), wide);
  CHECK(check.deciding < check.tolerance);
  CHECK_FALSE(check.pass);
  CHECK(check.tested);
  CHECK(check.reason.find("gain 0.9 ± ") == 0);
  CHECK(check.reason.find("not within 0.95 to 1.05") != std::string::npos);
}

TEST_CASE("five readings that lie close together test nothing where they leave the gain open") {
  for (const double gain : {0.48, 0.8, 1.0}) {
    Board board;
    board.gain = gain;
    board.bias = 3.3 * (1 - gain);
    const auto near = [](int i) { return 3.3 + 0.002 * ((i * 2) % 5); };
    board.truth = [&](double t) { return near(static_cast<int>(t / hold_s)); };
    board.seconds = 5 * hold_s;
    const SignalCheck check = checked(board, cell(
                                                 5, [](int) { return 0.0; }, near));
    CAPTURE(gain);
    CHECK_FALSE(check.pass);
    if (gain == 0.48) continue;  // five readings are enough to see that
    CHECK_FALSE(check.tested);
    CHECK(check.reason.find("the levels are too close together to tell the gain: gain ") == 0);
  }
}

TEST_CASE("levels that lie close together fail all the same where the signal is somewhere else") {
  Board board;
  const auto near = [](int i) { return 3.3 + 0.002 * ((i * 2) % 5); };
  board.bias = -1;
  board.truth = [&](double t) { return near(static_cast<int>(t / hold_s)); };
  const SignalCheck check = checked(board, cell(
                                               16, [](int) { return 0.0; }, near));
  CHECK(check.tested);
  CHECK(check.reason.find("the largest error is beyond the tolerance") == 0);
}

TEST_CASE("two levels test nothing: any straight line meets them") {
  Board board;
  const auto two = [](int i) { return i % 2 == 0 ? 2.0 : 3.5; };
  board.truth = [&](double t) { return two(static_cast<int>(t / hold_s)); };
  const SignalCheck check = checked(board, cell(
                                               16, [](int) { return 0.0; }, two));
  CHECK_FALSE(check.pass);
  CHECK_FALSE(check.tested);
  CHECK(check.levels == 2);
  CHECK(check.reason == "the channel had 2 levels; at least 3 needed");
}

TEST_CASE("the gain's standard error is that of the scatter, and never below quantisation") {
  // Sums of squares about the mean: 16 levels.
  double mean = 0, sxx = 0;
  for (int i = 0; i < 16; ++i) mean += level(i) / 16;
  for (int i = 0; i < 16; ++i) sxx += (level(i) - mean) * (level(i) - mean);
  const double floor = std::sqrt((1e-6 / 12 + 0.0005 * 0.0005) / sxx);
  CHECK(checked(right(), cell(16)).gain_error == doctest::Approx(floor).epsilon(0.001));
  // Errors of +0.01 and -0.01 V in turn: their scatter is 0.01 V.
  const auto off = [](int i) { return level(i) + (i % 2 == 0 ? 0.004 : -0.004); };
  const SignalCheck check = checked(right(), cell(
                                                 16, [](int) { return 0.0; }, off));
  CHECK(check.gain_error == doctest::Approx(0.004 / std::sqrt(sxx)).epsilon(0.1));
}

// NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.2, column 0.975.
TEST_CASE("the points of Student's t are those of the table") {
  CHECK(student(3) == doctest::Approx(3.182).epsilon(0.01));
  CHECK(student(5) == doctest::Approx(2.571).epsilon(0.003));
  CHECK(student(10) == doctest::Approx(2.228).epsilon(0.001));
  CHECK(student(30) == doctest::Approx(2.042).epsilon(0.001));
  CHECK(std::isinf(student(0)));
}

TEST_CASE("of a moving channel one transient does not fail a right signal, a tenth of them does") {
  Board board;
  board.truth = [](double t) { return moving(t) + (std::abs(t - 40) < 0.6 ? 0.9 : 0); };
  const SignalCheck one = checked(board, moving_cell(100));
  CHECK(one.pass);
  CHECK(one.largest > 0.8);
  CHECK(one.deciding < 0.01);
  CHECK(one.gain == doctest::Approx(1).epsilon(0.002));
  board.truth = [](double t) {
    return moving(t) + (std::abs(std::fmod(t, 10) - 5) < 0.6 ? 0.9 : 0);
  };
  const SignalCheck tenth = checked(board, moving_cell(100));
  CHECK_FALSE(tenth.pass);
  CHECK(tenth.reason.find("95 % of the errors are not within the tolerance") == 0);
}

TEST_CASE("codes that stand for no value are no errors, in bursts and at the start-up") {
  Board board = right();
  board.closed = [](double t) { return static_cast<int>(t / hold_s) % 2 == 1; };
  // Three quarters of every third plateau.
  board.absent = [](double t) {
    return static_cast<int>(t / hold_s) % 3 == 0 && std::fmod(t, hold_s) < 0.75 * hold_s;
  };
  CHECK(checked(board, cell(16)).pass);
  ChannelSeries relay{{"relay", "state", ChannelKind::hold}, {}};
  for (int i = 0; i < 16; ++i) {
    Reading reading;
    reading.t_ns = static_cast<std::int64_t>(i * hold_s * 1e9);
    reading.state = i % 2 == 1 ? "closed" : "open";
    relay.readings.push_back(reading);
  }
  const SignalCheck state = checked(board, relay);
  CHECK(state.samples == 16);
  CHECK(state.pass);
}

TEST_CASE("one reading in many that is off is named, and the others make the figures") {
  const auto slip = [](int i) { return i == 5 ? 10 * level(5) : level(i); };
  const SignalCheck check = checked(right(), cell(
                                                 16, [](int) { return 0.0; }, slip));
  CHECK(check.pass);
  REQUIRE(check.misfits.size() == 1);
  CHECK(check.misfits[0].reading == 105);
  CHECK(check.misfits[0].t_ns == 40 * second);
  CHECK(check.misfits[0].value == doctest::Approx(10 * level(5)));
  CHECK(check.misfits[0].expected == doctest::Approx(level(5)).epsilon(0.001));
  CHECK(check.gain == doctest::Approx(1).epsilon(0.001));
  CHECK(check.largest < 0.002);
  CHECK(check.range < 2);
}

TEST_CASE("more slips than one reading in ten fail, and so do slips where a person set the limit") {
  const auto two = [](int i) { return i == 5 || i == 9 ? 10 * level(i) : level(i); };
  const SignalCheck check = checked(right(), cell(
                                                 16, [](int) { return 0.0; }, two));
  CHECK_FALSE(check.pass);
  CHECK(check.tested);
  CHECK(check.reason.find("the largest error is beyond the tolerance") == 0);
  CHECK(check.misfits.size() == 2);
  CheckOptions strict;
  strict.absolute = [](const std::string&) { return std::optional<double>(0.01); };
  const auto one = [](int i) { return i == 5 ? level(5) + 0.1 : level(i); };
  CHECK(checked(right(), cell(
                             16, [](int) { return 0.0; }, one))
            .pass);
  CHECK_FALSE(checked(right(),
                      cell(
                          16, [](int) { return 0.0; }, one),
                      strict)
                  .pass);
}

TEST_CASE("one word in many that is wrong is named with both words, two of sixteen fail") {
  Board board;
  board.closed = [](double t) { return static_cast<int>(t / hold_s) % 2 == 1; };
  ChannelSeries relay{{"relay", "state", ChannelKind::hold}, {}};
  for (int i = 0; i < 16; ++i) {
    Reading reading;
    reading.t_ns = static_cast<std::int64_t>(i * hold_s * 1e9);
    reading.state = i == 15 ? "open?" : i % 2 == 1 ? "closed" : "open";
    reading.id = 100 + i;
    relay.readings.push_back(reading);
  }
  const SignalCheck check = checked(board, relay);
  CHECK(check.pass);
  REQUIRE(check.misfits.size() == 1);
  CHECK(check.misfits[0].reading == 115);
  CHECK(check.misfits[0].state == "open?");
  CHECK(check.misfits[0].expected_state == "closed");
  relay.readings[13].state = "open?";
  CHECK(checked(board, relay).reason == "a state was wrong");
}
