#include "decoder/relate/extremes.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <set>

#include "decoder/relate/chance.h"
#include "decoder/relate/linear.h"
#include "decoder/relate/middle.h"

namespace foundling::relate {
namespace {

constexpr double least_r2 = 0.98;
constexpr double least_agreement = 0.9;
constexpr double most_chance = 1e-3;
constexpr std::size_t fewest_numbers = 4;  // different ones that were seen
constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

struct Extremes {
  Track lowest, highest, spread;
  Track lowest_at, highest_at;  // member, counted from 0
};

Extremes extremes_of(const LookedAt& seen, const std::vector<std::size_t>& members) {
  Extremes out;
  for (std::size_t w = 0; w < seen.grid.windows; ++w) {
    double low = nothing;
    double high = nothing;
    double low_at = nothing;
    double high_at = nothing;
    for (std::size_t i = 0; i < members.size(); ++i) {
      const double value = seen.tracks[members[i]][w];
      if (std::isnan(value)) {
        low = high = low_at = high_at = nothing;
        break;
      }
      if (i == 0 || value < low) low = value, low_at = static_cast<double>(i);
      if (i == 0 || value > high) high = value, high_at = static_cast<double>(i);
    }
    out.lowest.push_back(low);
    out.highest.push_back(high);
    out.spread.push_back(high - low);
    out.lowest_at.push_back(low_at);
    out.highest_at.push_back(high_at);
  }
  return out;
}

std::optional<ExtremeRelation> follow(const LookedAt& seen, ExtremeKind kind, const Track& extreme,
                                      const std::vector<std::size_t>& members, std::size_t field,
                                      double tried) {
  Track motion = motion_of(extreme);
  join_motion(motion, seen.motions[field]);
  const Steps steps = settled_steps(motion);
  if (steps.size() < 12) return std::nullopt;
  const std::vector<double> x = differences(extreme, steps);
  const std::vector<double> y = differences(seen.tracks[field], steps);
  if (spread_over(y) < 4) return std::nullopt;
  const Line line = line_through_zero(x, y, seen.errors[members.front()], seen.errors[field]);
  // A member goes with itself; what is an extreme goes with it better than any member does.
  if (line.r2 < least_r2 || line.slope <= 0) return std::nullopt;
  for (const std::size_t f : members) {
    const Line single = line_through_zero(differences(seen.tracks[f], steps), y, 1, 1);
    if (1 - single.r2 < 2 * (1 - line.r2)) return std::nullopt;
  }
  ExtremeRelation out{kind, field, line.slope, 0, line.r2, steps.size(), 1, false};
  std::vector<double> constants;
  for (const auto& step : steps) {
    constants.push_back(seen.tracks[field][step.second] - line.slope * extreme[step.second]);
  }
  out.constant = middle(std::move(constants));
  out.chance = chance_of(x, y, tried, 11 + field);
  out.strong = out.chance <= most_chance;
  return out;
}

// Where one end rests, the spread moves as the other end does: the best is told only if it leaves
// half of what the next one leaves.
std::optional<ExtremeRelation> clearly_best(
    const std::array<std::optional<ExtremeRelation>, 3>& found) {
  const auto left = [](const std::optional<ExtremeRelation>& one) { return one ? 1 - one->r2 : 1; };
  auto order = found;
  std::ranges::sort(order, {}, left);
  if (order[0]) order[0]->strong = order[0]->strong && left(order[0]) <= 0.5 * left(order[1]);
  return order[0];
}

// A small whole number that is the member's place plus a constant wherever it is clear which one.
std::optional<ExtremeRelation> follow_number(ExtremeKind kind, const Track& where,
                                             const Track& said, std::size_t field, double tried) {
  std::map<double, std::size_t> shifts;
  std::set<double> numbers;
  std::size_t windows = 0;
  double runs = 0;
  double last = nothing;
  for (std::size_t w = 1; w + 1 < where.size(); ++w) {
    // Settled: one member is it before and after too.
    if (std::isnan(where[w]) || where[w] != where[w - 1] || where[w] != where[w + 1]) continue;
    if (std::isnan(said[w])) continue;
    ++windows;
    ++shifts[said[w] - where[w]];
    if (where[w] != last) runs += 1;
    last = where[w];
    numbers.insert(where[w]);
  }
  if (windows < 20 || numbers.size() < fewest_numbers) return std::nullopt;
  const auto best =
      std::ranges::max_element(shifts, {}, [](const auto& one) { return one.second; });
  const double agree = static_cast<double>(best->second) / static_cast<double>(windows);
  if (agree < least_agreement) return std::nullopt;
  ExtremeRelation out{kind, field, 1, best->first, agree, static_cast<std::size_t>(runs), 1, false};
  // Each run's number is one of those seen; nine tenths of the runs are counted, less one.
  const double counted = 0.9 * runs - 1;
  out.chance = std::min(1.0, tried * std::pow(static_cast<double>(numbers.size()), -counted));
  out.strong = out.chance <= most_chance;
  return out;
}

}  // namespace

std::vector<ExtremeRelation> find_extremes(const LookedAt& seen,
                                           std::span<const MessageSeries> messages,
                                           const std::vector<std::size_t>& members,
                                           const std::vector<std::size_t>& taken) {
  std::vector<ExtremeRelation> out;
  if (members.size() < 3) return out;
  const Extremes extremes = extremes_of(seen, members);
  const double tried = 5 * static_cast<double>(seen.fields.size());
  for (std::size_t f = 0; f < seen.fields.size(); ++f) {
    if (seen.fields[f].is_other_cut) continue;
    if (std::ranges::count(members, f) + std::ranges::count(taken, f) > 0) continue;
    const auto add = [&](std::optional<ExtremeRelation> one) {
      if (one) out.push_back(*one);
    };
    add(clearly_best({follow(seen, ExtremeKind::lowest, extremes.lowest, members, f, tried),
                      follow(seen, ExtremeKind::highest, extremes.highest, members, f, tried),
                      follow(seen, ExtremeKind::spread, extremes.spread, members, f, tried)}));
    const Field& field = seen.fields[f];
    if (field.moved_bits > 8 || field.noise > 2) continue;
    const Track said = last_codes(messages[field.message], field, seen.grid);
    add(follow_number(ExtremeKind::number_of_lowest, extremes.lowest_at, said, f, tried));
    add(follow_number(ExtremeKind::number_of_highest, extremes.highest_at, said, f, tried));
  }
  return out;
}

}  // namespace foundling::relate
