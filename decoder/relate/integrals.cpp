#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "decoder/relate/chance.h"
#include "decoder/relate/linear.h"
#include "decoder/relate/pairs.h"

namespace foundling::relate {
namespace {

constexpr std::array<std::size_t, 3> cuts{48, 24, 12};  // stretches of the session
constexpr double least_r2 = 0.99;
constexpr double most_chance = 1e-5;  // few stretches, and smooth things are many

// A track at window w, or the one before where it has a gap there.
double near(const Track& track, std::size_t w) {
  while (w > 0 && std::isnan(track[w])) --w;
  return track[w];
}

struct Sums {
  std::vector<double> added;  // what `of` adds up to in each stretch, less that in the one before
  std::vector<double> grown;  // by how much the field grew, likewise
};

// Second differences: a drift, and a constant that is added up with it, fall out.
Sums sums_over(const Track& of, const Track& field, std::size_t stretches, double window_s) {
  Sums out;
  const std::size_t length = of.size() / stretches;
  double last_added = 0;
  double last_grown = 0;
  for (std::size_t s = 0; s < stretches; ++s) {
    double added = 0;
    for (std::size_t w = s * length; w < (s + 1) * length; ++w) added += near(of, w) * window_s;
    const double grown =
        near(field, (s + 1) * length - 1) - near(field, s == 0 ? 0 : s * length - 1);
    if (s > 0 && !std::isnan(added + last_added + grown + last_grown)) {
      out.added.push_back(added - last_added);
      out.grown.push_back(grown - last_grown);
    }
    last_added = added;
    last_grown = grown;
  }
  return out;
}

std::optional<PairRelation> as_integral(const LookedAt& seen, std::size_t of, std::size_t field,
                                        double tried) {
  std::optional<PairRelation> best;
  for (const std::size_t stretches : cuts) {
    if (seen.grid.windows < 4 * stretches) continue;
    const Sums sums = sums_over(seen.tracks[of], seen.tracks[field], stretches, seen.grid.window_s);
    if (sums.added.size() < 8 || spread_over(sums.grown) < 4) continue;
    const Line line = line_through_zero(sums.added, sums.grown, 0, 1);
    if (line.r2 < least_r2 || (best && best->r2 >= line.r2)) continue;
    PairRelation found;
    found.kind = PairKind::integral;
    found.field = field;
    found.of = of;
    found.factor = line.slope;
    found.r2 = line.r2;
    found.steps = sums.added.size();
    // Differences of neighbouring stretches share one: two thirds of them count.
    found.chance = std::pow(chance_of(sums.added, sums.grown, 1, 3 + of + field), 2.0 / 3) * tried;
    found.chance = std::min(found.chance, 1.0);
    found.strong = found.chance <= most_chance;
    best = found;
  }
  return best;
}

}  // namespace

std::vector<PairRelation> find_integrals(const LookedAt& seen, const std::vector<bool>& skip) {
  const std::size_t n = seen.fields.size();
  const double tried = static_cast<double>(n * n * cuts.size());
  std::vector<PairRelation> out;
  for (std::size_t field = 0; field < n; ++field) {
    if (skip[field] || seen.fields[field].moved_bits < 4) continue;
    std::optional<PairRelation> best;
    for (std::size_t of = 0; of < n; ++of) {
      if (of == field || skip[of] || seen.fields[of].moved_bits < 4) continue;
      const auto found = as_integral(seen, of, field, tried);
      if (found && (!best || found->r2 > best->r2)) best = found;
    }
    if (best) out.push_back(*best);
  }
  return out;
}

}  // namespace foundling::relate
