#include "decoder/analysis/survey_timing.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace foundling {
namespace {

double median(std::vector<double>& values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return (*middle + *std::max_element(values.begin(), middle)) / 2;
}

double robust_deviation(std::span<const double> values, double centre) {
  std::vector<double> deviations;
  deviations.reserve(values.size());
  for (const double v : values) deviations.push_back(std::abs(v - centre));
  return 1.4826 * median(deviations);  // makes it the standard deviation for normal errors
}

// A period keeps nearly all gaps near itself or, where frames were lost, near a small multiple. A
// gap that is too short cannot come from a loss; unless a late frame made the gap before it as
// much too long, it is a frame outside the period.
bool keeps_a_period(std::span<const double> gaps, double period) {
  constexpr double tolerance = 0.3;  // of the period
  std::size_t odd = 0;
  std::size_t early = 0;
  for (std::size_t i = 0; i < gaps.size(); ++i) {
    const double ratio = gaps[i] / period;
    if (std::abs(ratio - 1) <= tolerance) continue;
    const auto makes_up = [&](std::size_t j) {
      return j < gaps.size() && std::abs(ratio + gaps[j] / period - 2) <= 2 * tolerance / 3;
    };
    if (makes_up(i + 1) || (i > 0 && makes_up(i - 1))) continue;
    if (ratio < 1) ++early;
    const bool lost = ratio > 1 && ratio < 10 && std::abs(ratio - std::round(ratio)) <= tolerance;
    if (!lost || ratio < 1) ++odd;
  }
  // Losses too many to be losses are gaps of no period either.
  std::size_t near = 0;
  for (const double gap : gaps) near += std::abs(gap / period - 1) <= tolerance ? 1U : 0U;
  const auto n = static_cast<double>(gaps.size());
  return static_cast<double>(early) <= 0.03 * n + 0.5 && static_cast<double>(odd) <= 0.1 * n &&
         static_cast<double>(near) >= 0.6 * n;
}

// Pages sent in a burst: single gaps differ, but every k-th frame keeps a strict period.
bool keeps_a_burst(std::span<const std::int64_t> t_ns) {
  for (std::size_t k = 2; k <= 64 && t_ns.size() >= 8 * k; ++k) {
    std::vector<double> rounds;
    for (std::size_t i = k; i < t_ns.size(); ++i) {
      rounds.push_back(static_cast<double>(t_ns[i] - t_ns[i - k]));
    }
    std::vector<double> copy = rounds;
    const double round = median(copy);
    if (round <= 0 || robust_deviation(rounds, round) > 0.02 * round) continue;
    const auto near = std::count_if(rounds.begin(), rounds.end(), [round](double r) {
      return std::abs(r - round) <= 0.1 * round;
    });
    if (static_cast<double>(near) >= 0.85 * static_cast<double>(rounds.size())) return true;
  }
  return false;
}

}  // namespace

Timing survey_timing(std::span<const std::int64_t> t_ns) {
  constexpr std::size_t enough = 200'000;
  t_ns = t_ns.first(std::min(t_ns.size(), enough));
  Timing timing;
  if (t_ns.size() < 2) return timing;
  std::vector<double> gaps;
  gaps.reserve(t_ns.size() - 1);
  for (std::size_t i = 1; i < t_ns.size(); ++i) {
    gaps.push_back(static_cast<double>(t_ns[i] - t_ns[i - 1]) / 1e9);
  }
  std::vector<double> copy = gaps;
  timing.period_s = median(copy);
  timing.mean_period_s =
      static_cast<double>(t_ns.back() - t_ns.front()) / 1e9 / static_cast<double>(gaps.size());
  timing.jitter_s = robust_deviation(gaps, timing.period_s);
  if (gaps.size() < 8) return timing;  // too few to tell
  constexpr std::size_t burst_frames = 4000;
  const bool by_the_clock = timing.period_s > 0 && keeps_a_period(gaps, timing.period_s);
  timing.in_bursts = timing.period_s > 0 && !by_the_clock &&
                     keeps_a_burst(t_ns.first(std::min(t_ns.size(), burst_frames)));
  timing.event_driven = !by_the_clock && !timing.in_bursts;
  return timing;
}

}  // namespace foundling
