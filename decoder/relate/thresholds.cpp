#include "decoder/relate/thresholds.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "decoder/relate/crossings.h"
#include "decoder/relate/middle.h"

namespace foundling::relate {
namespace {

constexpr double most_chance = 1e-3;
constexpr double worth_showing = 0.05;
constexpr std::size_t fewest_a_way = 3;  // crossings up, and down
constexpr double longest_delay_s = 3;
constexpr int fewest_bits = 4;       // that moved, of a number
constexpr double longer_way = 0.25;  // of the field's range: shorter ones prove nothing
constexpr double far_from_ends =
    0.15;                             // of the way: where it begins and ends a hand may act as well
constexpr double clearly_better = 2;  // than at one share of the way
constexpr double most_elsewhere = 0.02;  // of the windows
constexpr double clearly_best = 2;       // than another field, a crossing
constexpr double worth_a_delay = 3;  // of the chance's logarithm: more delays fit more by accident

struct Codes {  // at which the bit flips
  double sets_at = 0, clears_at = 0;
};

std::optional<Codes> codes_of(const std::vector<Crossing>& counted) {
  std::vector<double> sets, clears;
  for (const Crossing& one : counted) (one.sets ? sets : clears).push_back(one.code);
  if (sets.size() < 2 || clears.size() < 2) return std::nullopt;
  return Codes{middle(std::move(sets)), middle(std::move(clears))};
}

double off(const Crossing& one, const Codes& codes) {
  return std::abs(one.code - (one.sets ? codes.sets_at : codes.clears_at));
}

double share(const Crossing& one) { return (one.code - one.from) / (one.to - one.from); }

// Were the bit to flip anywhere on the way, it would do so as near the code with this chance. The
// nearest of either direction is what the code is taken from.
double log_chance_of(const std::vector<Crossing>& counted, const Codes& codes) {
  double sum = 0;
  double best[2] = {0, 0};
  for (const Crossing& one : counted) {
    const double near = 2 * off(one, codes) + one.width;
    const double log_one = std::log(std::min(1.0, near / one.way()));
    sum += log_one;
    best[one.sets ? 1 : 0] = std::min(best[one.sets ? 1 : 0], log_one);
  }
  return sum - best[0] - best[1];
}

double root_mean_square(const std::vector<double>& values) {
  double sum = 0;
  for (const double one : values) sum += one * one;
  return std::sqrt(sum / static_cast<double>(std::max<std::size_t>(1, values.size())));
}

// What only moves at the same times flips at the same share of each way. Where the ways are all
// alike that cannot be told from a threshold.
double share_fits(const std::vector<Crossing>& counted, const Codes& codes) {
  std::vector<double> shares[2];
  for (const Crossing& one : counted) shares[one.sets ? 1 : 0].push_back(share(one));
  const double usual[2] = {middle(shares[0]), middle(shares[1])};
  std::vector<double> by_code, by_share;
  for (const Crossing& one : counted) {
    // Neither fits better than the field's own steps let it.
    by_code.push_back(std::max(off(one, codes), one.width / 4));
    by_share.push_back((share(one) - usual[one.sets ? 1 : 0]) * one.way());
  }
  return root_mean_square(by_share) / root_mean_square(by_code);
}

bool are_far_from_ends(const std::vector<Crossing>& counted) {
  const auto inside = [](const Crossing& one) {
    return share(one) > far_from_ends && share(one) < 1 - far_from_ends;
  };
  return 5 * std::ranges::count_if(counted, inside) >= 4 * std::ssize(counted);
}

// The board compares this very number: it flips within the step in which the code is passed, give
// or take what it is sent later. Of a neighbour that warms along the code scatters by more.
bool are_exact(const std::vector<Crossing>& counted, const Codes& codes) {
  const auto exact = [&](const Crossing& one) { return off(one, codes) <= one.width / 2; };
  return 5 * std::ranges::count_if(counted, exact) >= 4 * std::ssize(counted);
}

// The windows in which the bit says something else than the field, away from flips.
bool holds(const Track& codes, const StateBit& bit, std::size_t delay, const Codes& at,
           double tolerance) {
  std::size_t all = 0;
  std::size_t wrong = 0;
  for (std::size_t w = delay + 1; w + 1 < codes.size(); ++w) {
    const double state = bit.track[w];
    const double code = codes[w - delay];
    if (std::isnan(code) || !(bit.track[w - 1] == state) || !(bit.track[w + 1] == state)) continue;
    ++all;
    const bool elsewhere =
        state == 1 ? code < at.clears_at - tolerance : code > at.sets_at + tolerance;
    wrong += elsewhere ? 1U : 0U;
  }
  return static_cast<double>(wrong) <= most_elsewhere * static_cast<double>(all);
}

struct Looked {
  ThresholdRelation relation;
  double log_chance = 0;  // of one pairing
};

std::optional<Looked> compare(const Track& codes, const StateBit& bit, double error, double range,
                              std::size_t delay) {
  std::vector<Crossing> all = crossings_of(codes, bit, delay, error);
  std::vector<Crossing> counted = all;
  std::erase_if(counted, [&](const Crossing& one) { return !(one.way() > longer_way * range); });
  const auto at = codes_of(counted);
  if (!at) return std::nullopt;
  std::vector<double> ways;
  for (const Crossing& one : counted) ways.push_back(one.way());
  const double usual_way = middle(std::move(ways));
  const double tolerance = 0.1 * usual_way + 4 * error;
  const auto fits = [&](const Crossing& one) { return off(one, *at) <= tolerance + one.width; };
  if (!std::ranges::all_of(all, fits)) return std::nullopt;
  // A band of half the way is no threshold any more.
  if (at->sets_at - at->clears_at > usual_way / 2) return std::nullopt;
  if (!holds(codes, bit, delay, *at, tolerance)) return std::nullopt;
  Looked out;
  out.log_chance = log_chance_of(counted, *at);
  ThresholdRelation& relation = out.relation;
  relation.sets_at = at->sets_at;
  relation.clears_at = at->clears_at;
  relation.crossings = counted.size();
  relation.share_fits = share_fits(counted, *at);
  const auto sets = static_cast<std::size_t>(std::ranges::count(counted, true, &Crossing::sets));
  relation.strong = std::min(sets, counted.size() - sets) >= fewest_a_way &&
                    relation.share_fits >= clearly_better && are_far_from_ends(counted) &&
                    are_exact(counted, *at);
  return out;
}

// Both directions and all delays.
std::optional<Looked> best_at(const LookedAt& seen, const StateBit& bit, std::size_t field) {
  const Track& track = seen.tracks[field];
  Track turned = track;
  for (double& one : turned) one = -one;
  std::vector<double> values = track;
  std::erase_if(values, [](double one) { return std::isnan(one); });
  const double range = at_share(values, 0.98) - at_share(values, 0.02);
  std::optional<Looked> best;
  for (std::size_t delay = 0; static_cast<double>(delay) * seen.grid.window_s <= longest_delay_s;
       ++delay) {
    for (const bool above : {true, false}) {
      auto one = compare(above ? track : turned, bit, seen.errors[field], range, delay);
      if (!one || (best && one->log_chance >= best->log_chance - worth_a_delay)) continue;
      one->relation.above = above;
      one->relation.delay_s = static_cast<double>(delay) * seen.grid.window_s;
      best = one;
    }
  }
  if (best && !best->relation.above) {
    best->relation.sets_at = -best->relation.sets_at;
    best->relation.clears_at = -best->relation.clears_at;
  }
  if (best) best->relation.field = field;
  return best;
}

bool are_copies(std::span<const PairRelation> pairs, std::size_t a, std::size_t b) {
  return std::ranges::any_of(pairs, [=](const PairRelation& pair) {
    return pair.kind == PairKind::copy && pair.strong &&
           ((pair.field == a && pair.of == b) || (pair.field == b && pair.of == a));
  });
}

std::optional<ThresholdRelation> best_for(const LookedAt& seen, const StateBit& bit, double tried,
                                          std::span<const PairRelation> pairs) {
  std::vector<Looked> found;
  for (std::size_t f = 0; f < seen.fields.size(); ++f) {
    if (seen.fields[f].is_other_cut || seen.fields[f].moved_bits < fewest_bits) continue;
    if (auto one = best_at(seen, bit, f)) found.push_back(*one);
  }
  if (found.empty()) return std::nullopt;
  const Looked& best = *std::ranges::min_element(found, {}, &Looked::log_chance);
  ThresholdRelation out = best.relation;
  // What warms together has a threshold each; only the closest by far is that of the bit.
  const double clearly = static_cast<double>(out.crossings) * std::log(clearly_best);
  for (const Looked& other : found) {
    const std::size_t field = other.relation.field;
    if (field == out.field || are_copies(pairs, field, out.field)) continue;
    if (other.log_chance < best.log_chance + clearly) ++out.others;
  }
  out.chance = std::min(1.0, tried * std::exp(best.log_chance));
  out.strong = out.strong && out.others == 0 && out.chance <= most_chance;
  if (out.chance > worth_showing) return std::nullopt;
  return out;
}

}  // namespace

std::vector<ThresholdRelation> find_thresholds(const LookedAt& seen, std::span<const StateBit> bits,
                                               std::span<const PairRelation> pairs) {
  const double delays = std::floor(longest_delay_s / seen.grid.window_s) + 1;
  const double tried = 2 * delays * static_cast<double>(bits.size() * seen.fields.size());
  std::vector<ThresholdRelation> out;
  for (std::size_t b = 0; b < bits.size(); ++b) {
    auto one = best_for(seen, bits[b], tried, pairs);
    if (!one) continue;
    one->bit = b;
    out.push_back(*one);
  }
  std::ranges::stable_sort(out, {}, &ThresholdRelation::chance);
  return out;
}

}  // namespace foundling::relate
