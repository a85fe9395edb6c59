#include <algorithm>
#include <cmath>
#include <optional>

#include "decoder/relate/chance.h"
#include "decoder/relate/linear.h"
#include "decoder/relate/middle.h"
#include "decoder/relate/pairs.h"

namespace foundling::relate {
namespace {

constexpr std::size_t most_fields = 40;  // those that move most; the work goes with the third power
constexpr double least_r2 = 0.99;
constexpr double less_left = 0.05;  // of what the two leave without their product
constexpr double clearly = 4;       // what any other two leave, of what the best two leave
constexpr double most_chance = 1e-3;
constexpr double fewest_levels = 3;
constexpr double than_errors = 4;  // squares: what a product may leave, of what errors do

Track product_of(const Track& a, const Track& b, double middle_a, double middle_b) {
  Track out(a.size());
  for (std::size_t w = 0; w < a.size(); ++w) out[w] = (a[w] - middle_a) * (b[w] - middle_b);
  return out;
}

// What `columns` leave of y.
std::vector<double> left_of(const std::vector<std::vector<double>>& columns,
                            const std::vector<double>& y) {
  const Fit found = fit(columns, y, 0);
  std::vector<double> left = y;
  if (!found.ok) return left;
  for (std::size_t r = 0; r < y.size(); ++r) {
    for (std::size_t c = 0; c < columns.size(); ++c) left[r] -= found.slope[c] * columns[c][r];
  }
  return left;
}

// How far the errors of y and of both factors let y be off a product of theirs, from step to step.
double error_of(const LookedAt& seen, std::size_t a, std::size_t b, std::size_t field,
                const std::vector<std::vector<double>>& columns, const std::vector<double>& own,
                const std::vector<double>& y) {
  std::vector<std::vector<double>> all = columns;
  all.push_back(own);
  const Fit found = fit(all, y, 0);
  if (!found.ok) return 0;
  const auto usual = [&](std::size_t f) {
    std::vector<double> off;
    for (const double v : seen.tracks[f]) {
      if (!std::isnan(v)) off.push_back(v - seen.fields[f].level);
    }
    return usual_size(std::move(off));
  };
  const double by_a = std::abs(found.slope[0]) + std::abs(found.slope[4]) * usual(b);
  const double by_b = std::abs(found.slope[1]) + std::abs(found.slope[4]) * usual(a);
  return std::sqrt(2.0) *
         std::hypot(seen.errors[field], by_a * seen.errors[a], by_b * seen.errors[b]);
}

// At how many levels of a factor the product shows: over how many its share of y is spread. A
// factor that stood at one level while one thing was moved and at another while the next was is a
// label of the two, and so is anything else that changed in between.
double levels_of(const Track& track, const Steps& steps, const std::vector<double>& own) {
  std::vector<double> at;
  for (const auto& step : steps) at.push_back(track[step.second]);
  const double low = at_share(at, 0.02);
  const double high = at_share(at, 0.98);
  if (!(high > low)) return 1;
  std::vector<double> shares(12);
  for (std::size_t r = 0; r < at.size(); ++r) {
    const double place = std::clamp((at[r] - low) / (high - low), 0.0, 0.999);
    shares[static_cast<std::size_t>(place * static_cast<double>(shares.size()))] += own[r] * own[r];
  }
  double sum = 0;
  double squares = 0;
  for (const double share : shares) sum += share, squares += share * share;
  return squares > 0 ? sum * sum / squares : 1;
}

// y on a, b and their squares, without and with their product: a curve of one alone is no product.
std::optional<PairRelation> as_product(const LookedAt& seen, std::size_t a, std::size_t b,
                                       std::size_t field, double tried) {
  const std::size_t three[] = {a, b, field};
  const Steps steps = steps_of(seen, three);
  if (steps.size() < 20) return std::nullopt;
  const std::vector<double> y = differences(seen.tracks[field], steps);
  if (spread_over(y) < 6) return std::nullopt;
  const double ma = seen.fields[a].level;
  const double mb = seen.fields[b].level;
  const Track& ta = seen.tracks[a];
  const Track& tb = seen.tracks[b];
  std::vector<std::vector<double>> columns{differences(ta, steps), differences(tb, steps),
                                           differences(product_of(ta, ta, ma, ma), steps),
                                           differences(product_of(tb, tb, mb, mb), steps)};
  const std::vector<double> without = left_of(columns, y);
  const std::vector<double> together = differences(product_of(ta, tb, ma, mb), steps);
  const std::vector<double> own = left_of(columns, together);
  const Line line = line_through_zero(own, without, 0, 1);
  if (1 - line.r2 > less_left) return std::nullopt;
  double all = 0;
  double left = 0;
  for (std::size_t r = 0; r < y.size(); ++r) {
    const double after = without[r] - line.slope * own[r];
    all += y[r] * y[r];
    left += after * after;
  }
  PairRelation out;
  out.kind = PairKind::product;
  out.field = field;
  out.of = a;
  out.other = b;
  out.factor = line.slope;
  out.r2 = 1 - left / all;
  out.steps = steps.size();
  if (out.r2 < least_r2) return std::nullopt;
  out.chance = chance_of(own, without, tried, 7 * a + 5 * b + field);
  // Another quantity that changed when the true factor did leaves more than errors do.
  const double error = error_of(seen, a, b, field, columns, together, y);
  const bool whole = left <= than_errors * error * error * static_cast<double>(y.size());
  const bool spread =
      levels_of(ta, steps, own) >= fewest_levels && levels_of(tb, steps, own) >= fewest_levels;
  out.strong = out.chance <= most_chance && whole && spread;
  return out;
}

// A factor is about a product too, of the true product and the reciprocal of the other factor: of
// such, the one that explains best stays.
std::vector<PairRelation> without_quotients(std::vector<PairRelation> found) {
  std::ranges::stable_sort(found, std::ranges::greater{}, &PairRelation::r2);
  std::vector<PairRelation> out;
  for (const PairRelation& one : found) {
    const bool quotient = std::ranges::any_of(out, [&](const PairRelation& better) {
      return one.of == better.field || one.other == better.field;
    });
    if (!quotient) out.push_back(one);
  }
  return out;
}

std::vector<std::size_t> movers(const LookedAt& seen, const std::vector<bool>& skip) {
  std::vector<std::pair<double, std::size_t>> order;
  for (std::size_t f = 0; f < seen.fields.size(); ++f) {
    if (skip[f] || seen.fields[f].moved_bits < 6) continue;
    std::vector<double> known = seen.tracks[f];
    std::erase_if(known, [](double v) { return std::isnan(v); });
    if (known.size() < 20) continue;
    const double range = at_share(known, 0.95) - at_share(known, 0.05);
    order.emplace_back(-range / std::max(seen.errors[f], 0.05), f);
  }
  std::ranges::sort(order);
  if (order.size() > most_fields) order.resize(most_fields);
  std::vector<std::size_t> out;
  for (const auto& one : order) out.push_back(one.second);
  return out;
}

bool go_together(const LookedAt& seen, std::size_t a, std::size_t b) {
  if (a == b) return true;
  const std::size_t both[] = {a, b};
  const Steps steps = steps_of(seen, both);
  return line_through_zero(differences(seen.tracks[a], steps), differences(seen.tracks[b], steps),
                           1, 1)
             .r2 >= 0.98;
}

// The same two factors, or others that go with them.
bool same_factors(const LookedAt& seen, const PairRelation& x, const PairRelation& y) {
  return (go_together(seen, x.of, y.of) && go_together(seen, x.other, y.other)) ||
         (go_together(seen, x.of, y.other) && go_together(seen, x.other, y.of));
}

// Everything that `field` could be the product of.
std::vector<PairRelation> products_in(const LookedAt& seen, const std::vector<std::size_t>& fields,
                                      std::size_t field) {
  const double n = static_cast<double>(fields.size());
  std::vector<PairRelation> found;
  for (const std::size_t a : fields) {
    if (a == field) continue;
    // A product goes with one of its factors, here `a`, and with the other by what is left.
    const std::size_t both[] = {a, field};
    const Steps steps = steps_of(seen, both);
    if (steps.size() < 20) continue;
    const double r2 = line_through_zero(differences(seen.tracks[a], steps),
                                        differences(seen.tracks[field], steps), 1, 1)
                          .r2;
    if (r2 < 0.3 || r2 > 0.9999) continue;
    for (const std::size_t b : fields) {
      if (b == a || b == field) continue;
      if (const auto one = as_product(seen, a, b, field, n * n * n / 2)) found.push_back(*one);
    }
  }
  return found;
}

// A product and one of its factors that is said to be a product itself, of other factors: one of
// the two is wrong, and the frames do not say which.
bool contradict(const LookedAt& seen, const PairRelation& x, const PairRelation& y) {
  const bool by_of = x.of == y.field && (y.of == x.field || y.other == x.field);
  const bool by_other = x.other == y.field && (y.of == x.field || y.other == x.field);
  if (!by_of && !by_other) return false;
  const std::size_t left_x = by_of ? x.other : x.of;
  const std::size_t left_y = y.of == x.field ? y.other : y.of;
  return !go_together(seen, left_x, left_y);
}

}  // namespace

std::vector<PairRelation> find_products(const LookedAt& seen, const std::vector<bool>& skip) {
  const std::vector<std::size_t> fields = movers(seen, skip);
  std::vector<PairRelation> out;
  for (const std::size_t field : fields) {
    const std::vector<PairRelation> found = products_in(seen, fields, field);
    if (found.empty()) continue;
    PairRelation best = *std::ranges::max_element(found, {}, &PairRelation::r2);
    // Where one factor changes rarely, many a field that changed at the same times would do for it.
    const bool only = std::ranges::all_of(found, [&](const PairRelation& other) {
      return 1 - other.r2 >= clearly * (1 - best.r2) || same_factors(seen, best, other);
    });
    // A field with its own copy makes a square, which is a curve of one alone.
    best.strong = best.strong && only && !go_together(seen, best.of, best.other);
    out.push_back(best);
  }
  const std::vector<PairRelation> all = out;
  for (PairRelation& one : out) {
    if (std::ranges::any_of(all, [&](const auto& other) { return contradict(seen, one, other); })) {
      one.strong = false;
    }
  }
  return without_quotients(std::move(out));
}

}  // namespace foundling::relate
