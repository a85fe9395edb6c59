// A field that equals another while a bit is set, on tracks whose truth is known.
#include "decoder/relate/gated.h"

#include <doctest/doctest.h>

#include "tests/relate/made_session.h"

namespace foundling::relate {
namespace {

// A switch that is closed in the second half of each turn.
bool is_closed(std::size_t w, std::size_t turn) { return w % turn >= turn / 2; }

// Behind the switch: charged within a second or two, discharged within some.
Track behind_switch(const Track& pack, std::size_t turn) {
  Track out;
  double code = 0;
  for (std::size_t w = 0; w < pack.size(); ++w) {
    code += is_closed(w, turn) ? 0.7 * (0.5 * pack[w] - code) : -0.2 * code;
    out.push_back(code);
  }
  return out;
}

struct Switched : Made {
  std::size_t turn;
  std::size_t pack, link;
  std::vector<StateBit> bits;

  explicit Switched(std::uint64_t seed, std::size_t turns = 5, std::size_t windows = 600)
      : Made(windows), turn(windows / turns) {
    random.seed(seed);
    const Track voltage = levels(3000, 3600, 11);
    pack = add(noisy(voltage, 0.5));
    link = add(noisy(behind_switch(voltage, turn), 0.5));
    bits.push_back(made_bit(windows, [this](std::size_t w) { return is_closed(w, turn); }));
  }
};

}  // namespace

TEST_CASE("the voltage behind a switch equals the pack's while the bit is set") {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    Switched made(seed);
    made.add(made.noisy(made.levels(0, 900, 17), 1));
    made.bits.push_back(made_bit(600, [](std::size_t w) { return w % 70 < 30; }));
    const auto found = find_gated(made.seen, made.bits);
    REQUIRE(found.size() == 1);
    CHECK(found[0].strong);
    CHECK(found[0].field == made.link);
    CHECK(found[0].of == made.pack);
    CHECK(found[0].bit == 0);
    CHECK(found[0].while_set);
    CHECK(found[0].same_bits.empty());
    CHECK(found[0].factor == doctest::Approx(0.5).epsilon(0.01));
    CHECK(found[0].turns == 5);
  }
}

TEST_CASE("a bit that is clear while they are equal is said to be so") {
  Switched made(3);
  const StateBit closed = made.bits.front();
  made.bits = {made_bit(600, [&](std::size_t w) { return closed.track[w] == 0; })};
  const auto found = find_gated(made.seen, made.bits);
  REQUIRE(found.size() == 1);
  CHECK(found[0].strong);
  CHECK_FALSE(found[0].while_set);
}

TEST_CASE("bits that flip together are all named") {
  Switched made(4);
  made.bits.push_back(made.bits.front());
  const auto found = find_gated(made.seen, made.bits);
  REQUIRE(found.size() == 1);
  CHECK(found[0].strong);
  REQUIRE(found[0].same_bits.size() == 1);
  CHECK(found[0].same_bits[0] + found[0].bit == 1);
}

TEST_CASE("two turns are too few for more than a weak claim") {
  Switched made(5, 2, 1600);
  const auto found = find_gated(made.seen, made.bits);
  REQUIRE(found.size() == 1);
  CHECK(found[0].chance < 1e-3);
  CHECK_FALSE(found[0].strong);
}

TEST_CASE("a bit that a person turned at other times now and then is not the switch's") {
  Switched made(6);
  made.bits = {
      made_bit(600, [&](std::size_t w) { return is_closed(w, made.turn) && w / made.turn != 2; })};
  CHECK(find_gated(made.seen, made.bits).empty());
}

TEST_CASE("among many bits one that fits by so much is still told, and each counts") {
  Switched made(8);
  const double alone = find_gated(made.seen, made.bits).front().chance_bit;
  for (std::size_t i = 0; i < 9; ++i) {
    made.bits.push_back(made_bit(600, [i](std::size_t w) { return (w + 7 * i) % 70 < 30; }));
  }
  const auto found = find_gated(made.seen, made.bits);
  REQUIRE(found.size() == 1);
  CHECK(found[0].strong);
  CHECK(found[0].chance_bit == doctest::Approx(10 * alone));
}

TEST_CASE("what is only switched on at the same times moves by itself and equals nothing") {
  for (std::uint64_t seed = 1; seed <= unrelated_sessions(20); ++seed) {
    CAPTURE(seed);
    Made made;
    made.random.seed(seed);
    const Track other = made.levels(3000, 3600, 9);
    Track lamp;
    for (std::size_t w = 0; w < 600; ++w) lamp.push_back(is_closed(w, 120) ? other[w] : 0);
    made.add(made.noisy(made.levels(3000, 3600, 11), 0.5));
    made.add(made.noisy(lamp, 0.5));
    const std::vector<StateBit> bits{
        made_bit(600, [](std::size_t w) { return is_closed(w, 120); })};
    CHECK(find_gated(made.seen, bits).empty());
  }
}

TEST_CASE("what always equals the pack's voltage needs no bit") {
  Made made;
  const Track voltage = made.levels(3000, 3600, 11);
  made.add(made.noisy(voltage, 0.5));
  made.add(made.noisy(voltage, 0.5));
  const std::vector<StateBit> bits{made_bit(600, [](std::size_t w) { return is_closed(w, 120); })};
  CHECK(find_gated(made.seen, bits).empty());
}

TEST_CASE("what goes with the pack's voltage while the bit is clear as well needs no bit") {
  Made made;
  const Track voltage = made.levels(3000, 3600, 11);
  Track shifted = voltage;
  for (std::size_t w = 0; w < 600; ++w) shifted[w] -= is_closed(w, 120) ? 0 : 900;
  made.add(made.noisy(voltage, 0.5));
  made.add(made.noisy(shifted, 0.5));
  const std::vector<StateBit> bits{made_bit(600, [](std::size_t w) { return is_closed(w, 120); })};
  CHECK(find_gated(made.seen, bits).empty());
}

TEST_CASE("where the other falls silent while the bit is clear nothing is known to leave it") {
  Switched made(9);
  for (std::size_t w = 0; w < 600; ++w) {
    if (!is_closed(w, made.turn)) made.seen.tracks[made.pack][w] = std::nan("");
  }
  CHECK(find_gated(made.seen, made.bits).empty());
}

TEST_CASE("where the pack's voltage rests all the time, going back to one level is no equality") {
  Made made;
  const Track voltage(600, 3300.0);
  made.add(made.noisy(voltage, 0.5));
  made.add(made.noisy(behind_switch(voltage, 120), 0.5));
  const std::vector<StateBit> bits{made_bit(600, [](std::size_t w) { return is_closed(w, 120); })};
  CHECK(find_gated(made.seen, bits).empty());
}

}  // namespace foundling::relate
