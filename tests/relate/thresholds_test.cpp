// A bit that is set while a field is beyond a code, on tracks whose truth is known.
#include "decoder/relate/thresholds.h"

#include <doctest/doctest.h>

#include "tests/relate/made_session.h"

namespace foundling::relate {
namespace {

constexpr std::size_t windows = 1200;

// Warmed and cooled by turns, as far and as fast as it comes.
Track warmed(Made& made, std::size_t turns = 8, double lowest = 800, double highest = 1500) {
  std::uniform_real_distribution<double> top(highest - 300, highest), rest(300, lowest);
  Track out;
  double from = 400;
  const std::size_t half = windows / turns / 2;
  for (std::size_t t = 0; out.size() < windows; ++t) {
    const double to = t % 2 == 0 ? top(made.random) : rest(made.random);
    for (std::size_t w = 0; w < half && out.size() < windows; ++w) {
      out.push_back(from + (to - from) * static_cast<double>(w) / static_cast<double>(half));
    }
    from = to;
  }
  return out;
}

StateBit warning(const Track& field, double sets_at, double clears_at, std::size_t delay = 0) {
  bool set = false;
  Track states;
  for (const double code : field) {
    set = set ? code >= clears_at : code > sets_at;
    states.push_back(set ? 1 : 0);
  }
  return made_bit(field.size(),
                  [&](std::size_t w) { return w >= delay && states[w - delay] == 1; });
}

std::vector<ThresholdRelation> look(const Made& made, const StateBit& bit) {
  return find_thresholds(made.seen, std::vector{bit}, {});
}

bool any_strong(const std::vector<ThresholdRelation>& found) {
  return std::ranges::count(found, true, &ThresholdRelation::strong) > 0;
}

}  // namespace

TEST_CASE("a warning and the temperature whose limit it tells are found, with both codes") {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    for (const double clears_at : {1000.0, 930.0}) {
      CAPTURE(seed);
      CAPTURE(clears_at);
      Made made(windows);
      made.random.seed(seed);
      const Track truth = warmed(made);
      const std::size_t field = made.add(made.noisy(truth, 1));
      made.add(made.noisy(warmed(made), 1));
      made.add(made.noisy(made.levels(300, 1500, 20), 1));
      const auto found = look(made, warning(truth, 1000, clears_at));
      REQUIRE(found.size() == 1);
      CHECK(found[0].strong);
      CHECK(found[0].field == field);
      CHECK(found[0].above);
      CHECK(found[0].sets_at == doctest::Approx(1000).epsilon(0.02));
      CHECK(found[0].clears_at == doctest::Approx(clears_at).epsilon(0.02));
    }
  }
}

TEST_CASE("a bit that is set below a code, and one that comes later, are found as such") {
  Made made(windows);
  const Track truth = warmed(made);
  made.add(made.noisy(truth, 1));
  const StateBit over = warning(truth, 1000, 930, 4);
  const StateBit under = made_bit(windows, [&](std::size_t w) { return over.track[w] == 0; });
  const auto found = look(made, under);
  REQUIRE(found.size() == 1);
  CHECK(found[0].strong);
  CHECK_FALSE(found[0].above);
  CHECK(found[0].delay_s == doctest::Approx(2).epsilon(0.3));
  CHECK(found[0].sets_at == doctest::Approx(930).epsilon(0.02));
  CHECK(found[0].clears_at == doctest::Approx(1000).epsilon(0.02));
}

TEST_CASE("two crossings of either direction are too few for more than a weak claim") {
  Made made(windows);
  const Track truth = warmed(made, 2);
  made.add(made.noisy(truth, 1));
  CHECK_FALSE(any_strong(look(made, warning(truth, 1000, 930))));
}

TEST_CASE("what a person switches at the same times as a field is moved has no threshold there") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    for (const bool same_size : {true, false}) {
      CAPTURE(seed);
      CAPTURE(same_size);
      Made made(windows);
      made.random.seed(seed);
      std::uniform_real_distribution<double> size(400, 1200);
      Track field;
      double goal = 0;
      double code = 0;
      for (std::size_t w = 0; w < windows; ++w) {
        if (w % 120 == 0) goal = same_size ? 800 : size(made.random);
        if (w % 120 == 60) goal = 0;
        code += 0.1 * (goal - code);
        field.push_back(code);
      }
      made.add(made.noisy(field, 1));
      // Some windows after the hand: in the midst of the way.
      const StateBit bit = made_bit(windows, [](std::size_t w) { return (w + 115) % 120 < 60; });
      CHECK_FALSE(any_strong(look(made, bit)));
    }
  }
}

TEST_CASE("a field that jumps over the code proves nothing, however often it does") {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    Made made(windows);
    made.random.seed(seed);
    const Track truth = made.levels(300, 1500, 20);
    made.add(made.noisy(truth, 1));
    CHECK_FALSE(any_strong(look(made, warning(truth, 900, 900))));
  }
}

TEST_CASE("a bit that once stays clear while the field is far beyond the code has no threshold") {
  Made made(windows);
  const Track truth = warmed(made);
  made.add(made.noisy(truth, 1));
  const StateBit over = warning(truth, 1000, 930);
  REQUIRE(any_strong(look(made, over)));
  const StateBit once_off =
      made_bit(windows, [&](std::size_t w) { return over.track[w] == 1 && (w < 450 || w > 600); });
  CHECK_FALSE(any_strong(look(made, once_off)));
}

TEST_CASE("a bit that is set before a field leaves its rest and cleared after it is back") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    Made made(windows);
    made.random.seed(seed);
    std::uniform_real_distribution<double> size(400, 1200);
    Track field(windows);
    double top = 0;
    for (std::size_t w = 0; w < windows; ++w) {
      const double at = static_cast<double>(w % 120);
      if (w % 120 == 0) top = size(made.random);
      field[w] = 300 + top * std::clamp(std::min(at - 30, 90 - at) / 20, 0.0, 1.0);
    }
    made.add(made.noisy(field, 1));
    const StateBit bit =
        made_bit(windows, [](std::size_t w) { return w % 120 > 29 && w % 120 < 91; });
    CHECK_FALSE(any_strong(look(made, bit)));
  }
}

TEST_CASE(
    "a bit that is set soon after a ramp begins and cleared soon before it ends is a hand's") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    Made made(windows);
    made.random.seed(seed);
    std::uniform_real_distribution<double> size(400, 1200);
    Track field(windows);
    Track states(windows);
    double top = 0;
    for (std::size_t w = 0; w < windows; ++w) {
      if (w % 150 == 0) top = size(made.random);
      // Always as fast, so that it is at the same code three windows after it has left its rest.
      const double at = static_cast<double>(w % 150);
      const double ramp = std::clamp(std::min(at - 10, 140 - at) * 20, 0.0, top);
      field[w] = 300 + ramp;
      states[w] = ramp >= 60 ? 1 : 0;
    }
    made.add(made.noisy(field, 1));
    CHECK_FALSE(
        any_strong(look(made, made_bit(windows, [&](std::size_t w) { return states[w] == 1; }))));
  }
}

TEST_CASE("of fields that warm together the one with the limit is told, or none") {
  int told = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    Made made(windows);
    made.random.seed(seed);
    const Track truth = warmed(made);
    Track beside = truth;
    double gain = 1;
    for (std::size_t w = 0; w < windows; ++w) {
      if (w % 75 == 0) gain = 1 + 0.05 * made.normal(made.random);
      beside[w] = 200 + 0.8 * gain * truth[w];
    }
    const std::size_t other = made.add(made.noisy(beside, 1));
    const StateBit bit = warning(truth, 1000, 930);
    CHECK_FALSE(any_strong(look(made, bit)));
    made.add(made.noisy(truth, 1));
    for (const ThresholdRelation& one : look(made, bit)) {
      if (one.strong) CHECK(one.field != other);
      told += one.strong ? 1 : 0;
    }
  }
  CHECK(told >= 15);
}

TEST_CASE("the same field twice is no other that does as well") {
  Made made(windows);
  const Track truth = warmed(made);
  const Track measured = made.noisy(truth, 1);
  made.add(measured);
  made.add(measured);
  const StateBit bit = warning(truth, 1000, 930);
  CHECK_FALSE(any_strong(look(made, bit)));
  PairRelation copy;
  copy.field = 1;
  copy.of = 0;
  copy.strong = true;
  CHECK(any_strong(find_thresholds(made.seen, std::vector{bit}, std::vector{copy})));
}

TEST_CASE("bits and fields that have nothing to do with each other make no strong claim") {
  for (std::uint64_t seed = 1; seed <= unrelated_sessions(60); ++seed) {
    CAPTURE(seed);
    Made made(windows);
    made.random.seed(seed);
    for (int f = 0; f < 6; ++f) {
      made.add(made.noisy(warmed(made, 4 + made.random() % 8), 1));
    }
    const Track other = warmed(made);
    CHECK_FALSE(any_strong(look(made, warning(other, 1000, 930))));
  }
}

}  // namespace foundling::relate
