#include "tools/bus/silent_board.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace foundling {
namespace {

// A board that sleeps draws next to nothing, one that works some tens of milliamperes at least
// (common practice, no source).
constexpr double nothing_a = 0.0002;
constexpr double sleep_a = 0.008;
// ISO 11898-2: recessive, each wire is driven to 2.0 to 3.0 V, with no bias to -0.1 to 0.1 V; a
// dominant bus has 1.5 to 3 V between the wires, 0.9 V are read as dominant for sure.
constexpr double rest_low_v = 2.0, rest_high_v = 3.0;
constexpr double ground_v = 0.2;
constexpr double dominant_v = 0.9;
// A meter shows the mean: from some percent of dominant bits on.
constexpr double traffic_v = 0.06;

bool is_at_rest(double v) { return v >= rest_low_v && v <= rest_high_v; }

}  // namespace

PairState pair_state(double high_v, double low_v) {
  const double apart = high_v - low_v;
  if (std::abs(high_v) <= ground_v && std::abs(low_v) <= ground_v) return PairState::asleep;
  // Means of dominant (3.5 and 1.5 V) and recessive (2.5 V) bits.
  const bool may_talk = std::min(high_v, low_v) > 1.2 && std::max(high_v, low_v) < 4.5;
  if (may_talk && std::abs(apart) >= dominant_v) return PairState::held;
  if (may_talk && apart >= traffic_v) return PairState::talking;
  if (may_talk && apart <= -traffic_v) return PairState::swapped;
  if (is_at_rest(high_v) && is_at_rest(low_v)) return PairState::idle;
  return PairState::faulty;
}

SupplyState supply_state(const SupplyCurrent& current, std::optional<double> limit_a) {
  constexpr double nearly = 0.97;  // of the limit: a supply's display is not better
  if (limit_a && current.most >= nearly * *limit_a) return SupplyState::at_limit;
  if (current.most < nothing_a) return SupplyState::nothing;
  if (current.most < sleep_a) return SupplyState::asleep;
  if (current.least < current.most / 2) return SupplyState::swinging;
  return SupplyState::awake;
}

std::optional<SupplyCurrent> supply_current(const std::vector<TimedCurrent>& readings) {
  if (readings.empty()) return {};
  const auto [least, most] = std::ranges::minmax(readings, {}, &TimedCurrent::a);
  SupplyCurrent out{least.a, most.a, {}};
  const double low = least.a + (most.a - least.a) / 4;
  const double high = most.a - (most.a - least.a) / 4;
  std::vector<std::int64_t> rises;
  bool is_low = readings.front().a <= low;
  for (const TimedCurrent& one : readings) {
    if (is_low && one.a >= high) rises.push_back(one.t_ns);
    if (one.a >= high) is_low = false;
    if (one.a <= low) is_low = true;
  }
  constexpr std::size_t fewest = 3;  // two could be somebody's hand
  if (least.a < most.a / 2 && rises.size() >= fewest) {
    out.period_s = static_cast<double>(rises.back() - rises.front()) * 1e-9 /
                   static_cast<double>(rises.size() - 1);
  }
  return out;
}

}  // namespace foundling
