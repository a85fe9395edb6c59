#include <algorithm>
#include <cmath>
#include <optional>

#include "decoder/relate/chance.h"
#include "decoder/relate/linear.h"
#include "decoder/relate/middle.h"
#include "decoder/relate/pairs.h"

namespace foundling::relate {
namespace {

constexpr double least_r2 = 0.98;
constexpr double most_chance = 1e-3;
constexpr double longest_delay_s = 3;
// Noise is shared if it goes together by this much, and by six standard deviations of chance.
constexpr double shared_noise = 0.2;
constexpr double sure = 6;

// A track some windows later, between windows on a straight line.
Track delayed(const Track& track, double windows) {
  Track out(track.size(), std::nan(""));
  for (std::size_t w = 0; w < track.size(); ++w) {
    const double at = static_cast<double>(w) - windows;
    if (at < 0 || at + 1 >= static_cast<double>(track.size())) continue;
    const auto from = static_cast<std::size_t>(at);
    const double part = at - static_cast<double>(from);
    out[w] = (1 - part) * track[from] + part * track[from + 1];
  }
  return out;
}

// Differences over so many windows; 0 at gaps.
std::vector<double> changes(const Track& track, std::size_t over = 1) {
  std::vector<double> out(track.size());
  for (std::size_t w = over; w < track.size(); ++w) {
    const double change = track[w] - track[w - over];
    if (!std::isnan(change)) out[w] = change;
  }
  return out;
}

double best_delay(const Track& of, const Track& field, double window_s) {
  const std::vector<double> y = changes(field);
  double best = 0;
  double best_r2 = -1;
  for (double delay = -longest_delay_s; delay <= longest_delay_s + 1e-9; delay += window_s / 4) {
    const double r2 = line_through_zero(changes(delayed(of, delay / window_s)), y, 1, 1).r2;
    if (r2 > best_r2 + (std::abs(delay) < std::abs(best) ? -1e-6 : 1e-6)) {
      best_r2 = r2;
      best = delay;
    }
  }
  return best;
}

bool are_quiet(const LookedAt& seen, std::size_t field, std::size_t w) {
  for (std::size_t at = w - 2; at <= w + 2; ++at) {
    if (seen.motions[field][at] != 0) return false;
  }
  return true;
}

double bend(const Track& track, std::size_t w) {
  return track[w + 1] - 2 * track[w] + track[w - 1];
}

struct Together {
  double correlation = 0;
  double n = 0;
};

// How bends of both go together where neither is on its way, one of them `later` windows later.
Together bends_together(const LookedAt& seen, const Track& a, std::size_t of, std::size_t field,
                        std::size_t later) {
  const Track& b = seen.tracks[field];
  double aa = 0;
  double bb = 0;
  double ab = 0;
  Together out;
  for (std::size_t w = 2; w + 2 + later < a.size(); ++w) {
    if (!are_quiet(seen, of, w) || !are_quiet(seen, field, w + later)) continue;
    const double bend_a = bend(a, w);
    const double bend_b = bend(b, w + later);
    if (std::isnan(bend_a) || std::isnan(bend_b)) continue;
    aa += bend_a * bend_a;
    bb += bend_b * bend_b;
    ab += bend_a * bend_b;
    out.n += 1;
  }
  if (aa > 0 && bb > 0) out.correlation = ab / std::sqrt(aa * bb);
  return out;
}

// Noise goes together at its own moment only. What also does so some windows later is a smooth
// motion that both have, such as two slow swings.
bool share_noise(const LookedAt& seen, std::size_t of, std::size_t field, double delay_s) {
  const Track a = delayed(seen.tracks[of], delay_s / seen.grid.window_s);
  const Together now = bends_together(seen, a, of, field, 0);
  const Together later = bends_together(seen, a, of, field, 4);
  const double size = std::abs(now.correlation);
  if (now.n < 30 || std::abs(later.correlation) > 0.3 * size) return false;
  // Bends of neighbouring windows share two of their three values: half as many count.
  return size > shared_noise && size * std::sqrt(now.n / 2) > sure;
}

std::optional<PairRelation> compare(const LookedAt& seen, std::size_t of, std::size_t field,
                                    double tried) {
  const double delay_s = best_delay(seen.tracks[of], seen.tracks[field], seen.grid.window_s);
  const Track original = delayed(seen.tracks[of], delay_s / seen.grid.window_s);
  Track motion = motion_of(original);
  join_motion(motion, seen.motions[field]);
  const Steps steps = settled_steps(motion);
  if (steps.size() < 12) return std::nullopt;
  const std::vector<double> x = differences(original, steps);
  const std::vector<double> y = differences(seen.tracks[field], steps);
  if (spread_over(y) < 4) return std::nullopt;
  const Line line = line_through_zero(x, y, seen.errors[of], seen.errors[field]);
  if (line.r2 < least_r2) return std::nullopt;
  PairRelation out;
  out.field = field;
  out.of = of;
  out.factor = line.slope;
  out.r2 = line.r2;
  out.steps = steps.size();
  out.delay_s = delay_s;
  out.chance = chance_of(x, y, tried, 31 * of + field);
  const bool one = share_noise(seen, of, field, delay_s);
  out.kind = one ? PairKind::copy : PairKind::alike;
  out.strong = one && out.chance <= most_chance;
  return out;
}

// The one with more codes is the original of what is rounded further.
bool finer(const LookedAt& seen, std::size_t a, std::size_t b) {
  return seen.fields[a].moved_bits > seen.fields[b].moved_bits;
}

}  // namespace

std::vector<PairRelation> find_copies(const LookedAt& seen, const std::vector<bool>& skip) {
  const std::size_t n = seen.fields.size();
  std::vector<std::vector<double>> quick;
  // Over twice the longest delay, a delayed copy shows in half of each step at least.
  const auto over = static_cast<std::size_t>(2 * longest_delay_s / seen.grid.window_s);
  for (const Track& track : seen.tracks)
    quick.push_back(changes(track, std::max<std::size_t>(1, over)));
  const double tried = static_cast<double>(n * n) / 2;
  std::vector<PairRelation> out;
  for (std::size_t a = 0; a < n; ++a) {
    if (skip[a] || seen.fields[a].moved_bits < 4) continue;
    for (std::size_t b = a + 1; b < n; ++b) {
      if (skip[b] || seen.fields[b].moved_bits < 4) continue;
      const bool pages = seen.fields[a].message == seen.fields[b].message &&
                         seen.fields[a].place.span == seen.fields[b].place.span;
      if (pages || line_through_zero(quick[a], quick[b], 1, 1).r2 < 0.2) continue;
      const bool swap = finer(seen, b, a);
      if (auto found = compare(seen, swap ? b : a, swap ? a : b, tried)) out.push_back(*found);
    }
  }
  std::ranges::stable_sort(out, [](const auto& x, const auto& y) {
    return x.strong != y.strong ? x.strong : x.r2 > y.r2;
  });
  return out;
}

}  // namespace foundling::relate
