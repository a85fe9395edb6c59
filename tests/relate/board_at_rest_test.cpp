// What a board says beside a reading.
#include "decoder/relate/board_at_rest.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

namespace foundling::relate {
namespace {

constexpr Grid half_seconds{0, 0.5, 80};

std::int64_t at_s(double seconds) { return static_cast<std::int64_t>(seconds * 1e9); }

// A step of a thousand codes at 10 s and back at 25 s, through a low-pass, with noise.
Track slow_step(double time_constant_s, double noise) {
  std::mt19937_64 random(8);
  std::normal_distribution<double> normal;
  Track track;
  double level = 5000;
  for (std::size_t w = 0; w < half_seconds.windows; ++w) {
    const double target = w >= 20 && w < 50 ? 6000 : 5000;
    level += (target - level) * (1 - std::exp(-half_seconds.window_s / time_constant_s));
    track.push_back(level + noise * normal(random));
  }
  return track;
}

}  // namespace

TEST_CASE("a board that is on its way when the meter is read is read where it has settled") {
  const BoardAtRest board(slow_step(1.5, 0), half_seconds, 0.3);
  CHECK(board.at(at_s(14), 0) == doctest::Approx(6000).epsilon(0.0005));
  CHECK(board.at(at_s(8), 0) == doctest::Approx(5000).epsilon(0.0005));
}

TEST_CASE("a reading at rest is held against many windows, not against one window's noise") {
  double squares = 0;
  const BoardAtRest board(slow_step(0.3, 10), half_seconds, 10);
  for (int i = 0; i < 8; ++i) {
    const double off = board.at(at_s(16 + i), 0) - 6000;
    squares += off * off;
  }
  CHECK(std::sqrt(squares / 8) < 5);
}

TEST_CASE("what moves all the time is read in the reading's own window") {
  Track track;
  for (std::size_t w = 0; w < half_seconds.windows; ++w) {
    track.push_back(static_cast<double>(w * w));
  }
  const BoardAtRest board(track, half_seconds, 0.3);
  CHECK(board.at(at_s(20.1), 0) == 40 * 40);
  CHECK(board.at(at_s(20.1), 1) == 42 * 42);
}

TEST_CASE("there is nothing beside a reading ahead of the session and after it") {
  const BoardAtRest board(slow_step(1, 0), half_seconds, 0.3);
  CHECK(std::isnan(board.at(at_s(-1), 0)));
  CHECK(std::isnan(board.at(at_s(39), 2)));
}

}  // namespace foundling::relate
