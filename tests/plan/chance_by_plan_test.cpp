// The chance figure from redrawn plans, on a bus of one message: a field that follows the plan, and
// one that drifts by itself.
#include "decoder/analysis/chance_by_plan.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "decoder/analysis/survey.h"

namespace foundling {
namespace {

constexpr std::size_t steps = 16;
constexpr std::int64_t hold_ns = 10'000'000'000;

std::vector<double> shuffled(std::mt19937_64& random) {
  std::vector<double> levels;
  for (std::size_t i = 0; i < steps; ++i) levels.push_back(static_cast<double>(i % 8));
  std::shuffle(levels.begin(), levels.end(), random);
  return levels;
}

// Bytes 0 and 1 follow the levels with a little noise, byte 2 drifts slowly.
MessageSeries message(const std::vector<double>& levels, std::mt19937_64& random) {
  MessageSeries series;
  series.id = CanId::standard(0x123);
  series.length = 8;
  std::normal_distribution<double> noise(0, 1);
  for (std::int64_t t = 0; t < static_cast<std::int64_t>(steps) * hold_ns; t += 100'000'000) {
    const double level = levels[static_cast<std::size_t>(t / hold_ns)];
    const auto raw = static_cast<unsigned>(std::lround(1000 + 300 * level + noise(random)));
    const auto drift = static_cast<unsigned>(
        std::lround(120 + 60 * std::sin(static_cast<double>(t) * 3e-11) + noise(random)));
    series.t_ns.push_back(t);
    for (const unsigned byte : {raw >> 8U, raw & 0xFFU, drift & 0xFFU, 0U, 0U, 0U, 0U, 0U}) {
      series.bytes.push_back(static_cast<std::uint8_t>(byte));
    }
  }
  return series;
}

TEST_CASE("a field that follows the plan beats every redrawn one; a drift is as good as any") {
  std::mt19937_64 random(5);
  std::vector<PlannedStretch> stretches;
  for (std::size_t s = 0; s < steps; ++s) {
    const auto from = static_cast<std::int64_t>(s) * hold_ns;
    stretches.push_back({from, from + hold_ns});
  }
  std::vector<std::vector<double>> levels;
  for (int k = 0; k < 100; ++k) levels.push_back(shuffled(random));
  const std::vector<MessageSeries> messages{message(levels.front(), random)};
  const auto streams = make_streams(messages, survey(messages));
  const double best = best_planned_r2(streams, stretches, levels.front());
  CHECK(best > 0.999);
  CHECK(chance_by_plan(streams, stretches, levels, best) == doctest::Approx(0.01));
  // Levels that the board never heard of: the share of draws that do as well is no small one.
  double sum = 0;
  for (int k = 0; k < 20; ++k) {
    std::vector<std::vector<double>> other;
    for (int d = 0; d < 40; ++d) other.push_back(shuffled(random));
    const double r2 = best_planned_r2(streams, stretches, other.front());
    CHECK(r2 < 0.95);
    sum += chance_by_plan(streams, stretches, other, r2);
  }
  // The mean of 20 even p is 0.5 within 0.065 (standard error); four of them each way.
  CHECK(sum / 20 > 0.24);
  CHECK(sum / 20 < 0.76);
}

}  // namespace
}  // namespace foundling
