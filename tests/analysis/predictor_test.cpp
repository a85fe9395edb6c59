#include "decoder/analysis/predictor.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

using namespace foundling;

namespace {

struct Plateaus {
  std::vector<double> raw;
  std::vector<double> x;
  std::vector<int> plateau;
};

template <typename Value>
Plateaus plateaus(int count, int frames, Value value) {
  Plateaus out;
  for (int p = 0; p < count; ++p) {
    for (int i = 0; i < frames; ++i) {
      out.raw.push_back(value(p));
      out.x.push_back(100.0 * p);
      out.plateau.push_back(p);
    }
  }
  return out;
}

double cost(const Plateaus& p, double noise, double noise_of_changes) {
  Prediction given;
  given.slope = 1;
  given.noise = noise;
  given.noise_of_changes = noise_of_changes;
  given.range = 100.0 * p.plateau.back();
  given.start = 0.3;
  return prediction_cost(p.raw, p.x, p.plateau, given);
}

}  // namespace

TEST_CASE("a value that stays on its level costs next to nothing") {
  const Plateaus still = plateaus(20, 200, [](int p) { return 100.0 * p; });
  CHECK(cost(still, 0.01, 0.01) < 0.02 * 4000);
}

TEST_CASE("independent noise costs its entropy, and little more") {
  std::mt19937_64 random(3);
  for (const double sd : {1.0, 3.0, 10.0}) {
    std::normal_distribution<double> normal(0, sd);
    const Plateaus noisy =
        plateaus(20, 200, [&](int p) { return std::round(100.0 * p + normal(random)); });
    // Of a rounded normal with sd >= 1: log2(sd sqrt(2 pi e)) bits a value (C. E. Shannon 1948,
    // 20).
    const double entropy = 4000 * std::log2(sd * std::sqrt(2 * 3.14159265358979 * std::exp(1.0)));
    CAPTURE(sd);
    CHECK(cost(noisy, sd * sd, sd * sd) > 0.98 * entropy);
    CHECK(cost(noisy, sd * sd, sd * sd) < 1.05 * entropy);
  }
}

TEST_CASE("plateaus that rest on one code and plateaus between two are each coded well") {
  std::mt19937_64 random(5);
  std::bernoulli_distribution toss(0.5);
  const Plateaus mixed = plateaus(20, 200, [&](int p) {
    const bool between = p % 2 == 0;
    return 100.0 * p + (between && toss(random) ? 1 : 0);
  });
  // Half of the plateaus are a coin in every frame; the others are free.
  CHECK(cost(mixed, 0.12, 0.25) < 1.15 * 2000);
}

TEST_CASE("a measurement sent over and over costs little more than once") {
  std::mt19937_64 random(9);
  std::normal_distribution<double> normal(0, 3);
  int frame = 0;
  double held = 0;
  const Plateaus repeated = plateaus(20, 200, [&](int p) {
    if (frame++ % 4 == 0) held = std::round(normal(random));
    return 100.0 * p + held;
  });
  const double once = 1000 * std::log2(3 * std::sqrt(2 * 3.14159265358979 * std::exp(1.0)));
  CHECK(cost(repeated, 9.0 / 4, 9) < 1.35 * once);
}

// Each step to a new level is a part of the one before, as a low-pass makes them: 9 steps to 300
// codes, so of 150, 75, ... 1. Told by the step before to within its own size, a step takes
// log2(size) bits; the first value, which nothing foretells, log2(range) and what an outlier costs.
TEST_CASE("values on their way to a level cost little more than the size of each step") {
  for (const double part : {0.3, 0.5, 0.7}) {
    CAPTURE(part);
    int last = -1;
    double missing = 0;
    double steps = 0;  // bits
    const Plateaus slow = plateaus(20, 200, [&](int p) {
      missing = p == last ? missing * part : 300;
      last = p;
      if (missing > 1) steps += std::log2(missing);
      return std::round(100.0 * p - missing);
    });
    const double starts = 20 * std::log2(1e4 * 1900);
    CHECK(cost(slow, 0.05, 1) < starts + 1.5 * steps + 20 * 20);
  }
}
