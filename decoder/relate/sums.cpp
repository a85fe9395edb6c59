#include "decoder/relate/sums.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <utility>

#include "decoder/relate/add_up.h"
#include "decoder/relate/chance.h"
#include "decoder/relate/linear.h"
#include "decoder/relate/middle.h"
#include "decoder/relate/rests.h"

namespace foundling::relate {
namespace {

constexpr double same_weight = 0.2;   // of the common weight
constexpr double known_weight = 0.2;  // a weight's deviation, as a share of it
constexpr std::size_t fewest_shown = 3;
constexpr double least_r2 = 0.98;
constexpr double least_covered = 0.8;
constexpr double rounding = 0.29;        // of a code: 1/sqrt(12)
constexpr double more_than_noise = 1.5;  // what is left, of what the total's noise leaves
constexpr double most_chance = 1e-3;

std::vector<double> steps_between(const std::vector<double>& levels) {
  std::vector<double> out;
  for (std::size_t i = 1; i < levels.size(); ++i) out.push_back(levels[i] - levels[i - 1]);
  return out;
}

double size_of(const std::vector<double>& values) {
  double squares = 0;
  for (const double v : values) squares += v * v;
  return squares;
}

// log of n over k
double log_choices(std::size_t n, std::size_t k) {
  const auto log_factorial = [](std::size_t m) { return std::lgamma(static_cast<double>(m) + 1); };
  return log_factorial(n) - log_factorial(k) - log_factorial(n - k);
}

// A total, and how all other fields moved from each of its rests to the next.
class Total {
 public:
  Total(const LookedAt& seen, std::size_t total, const std::vector<std::size_t>& fields)
      : seen_(seen), total_(total) {
    rests_ = rests_of(seen.tracks[total], seen.errors[total]);
    if (rests_.size() < 9) return;
    const std::vector<double> levels = means_in(seen.tracks[total], rests_);
    for (const std::size_t f : fields) {
      if (f == total || share_bits(seen.fields[f], seen.fields[total])) continue;
      std::vector<double> own = means_in(seen.tracks[f], rests_);
      const auto gaps = std::ranges::count_if(own, [](double v) { return std::isnan(v); });
      if (gaps * 10 > static_cast<std::ptrdiff_t>(own.size())) continue;
      fields_.push_back(f);
      moves_.push_back(std::move(own));
    }
    keep_whole(levels);
    for (std::vector<double>& one : moves_) one = steps_between(one);
  }

  // Whether it moved often enough to be judged.
  [[nodiscard]] bool moves() const { return y_.size() >= 8; }

  std::optional<SumRelation> run(const std::vector<std::size_t>& group, double tried) {
    use_.assign(y_.size(), true);
    if (all_.n == 0) all_ = products_of(moves_, y_, use_);
    choose_from(group);
    if (here_.size() < fewest_shown) return std::nullopt;
    for (int turn = 0; turn < 3; ++turn) {
      const bool first = turn == 0;
      if (!first) some_ = products_of(moves_, y_, use_);
      const Products& products = first ? all_ : some_;
      members_ = add_up(products, {here_, alike_, near_, overlaps_}, floor());
      if (members_.size() < fewest_shown || !draw_line()) return std::nullopt;
      if (first && line_.r2 < 0.5) return std::nullopt;
      shown_ = find_shown(products, floor());
      if (leave_out_strangers()) {
        if (members_.size() < fewest_shown || !draw_line()) return std::nullopt;
        shown_ = find_shown(products, floor());
      }
      leave_out_copies(products);
      if (!leave_out_steps()) break;
    }
    if (shown_.size() < fewest_shown) return std::nullopt;
    return finish(tried);
  }

 private:
  // Rests in which everything says something.
  void keep_whole(const std::vector<double>& levels) {
    std::vector<Rest> rests;
    std::vector<double> kept;
    std::vector<std::vector<double>> moves(moves_.size());
    for (std::size_t r = 0; r < rests_.size(); ++r) {
      const bool gap = std::isnan(levels[r]) || std::ranges::any_of(moves_, [r](const auto& one) {
                         return std::isnan(one[r]);
                       });
      if (gap) continue;
      rests.push_back(rests_[r]);
      kept.push_back(levels[r]);
      for (std::size_t i = 0; i < moves_.size(); ++i) moves[i].push_back(moves_[i][r]);
    }
    rests_ = std::move(rests);
    moves_ = std::move(moves);
    y_ = steps_between(kept);
  }

  // What the sum is looked for in. Other images of the total (a mean, a copy) would take the
  // members' weight. They leave a tenth of what a usual member leaves; where all go up and down
  // together a member leaves little as well.
  void choose_from(const std::vector<std::size_t>& group) {
    std::vector<double> left;
    std::vector<double> of_alike;
    std::vector<bool> alike;
    for (std::size_t i = 0; i < fields_.size(); ++i) {
      left.push_back(1 - all_.xy[i] * all_.xy[i] / (all_.xx[i][i] * all_.yy + 1e-30));
      alike.push_back(std::ranges::binary_search(group, fields_[i]));
      if (alike.back()) of_alike.push_back(left.back());
    }
    const double bound = std::min(0.03, 0.1 * middle(of_alike));
    here_.clear();
    alike_.clear();
    for (std::size_t i = 0; i < fields_.size(); ++i) {
      if (left[i] < bound) continue;
      here_.push_back(i);
      alike_.push_back(alike[i]);
    }
    find_near(group);
    overlaps_.assign(here_.size(), {});
    for (std::size_t a = 0; a < here_.size(); ++a) {
      for (std::size_t b = 0; b < here_.size(); ++b) {
        const bool both =
            a != b && share_bits(seen_.fields[fields_[here_[a]]], seen_.fields[fields_[here_[b]]]);
        if (both) overlaps_[a].push_back(b);
      }
    }
  }

  // Fields of the group's usual width and order, and noise: cells whose codes begin at two volts
  // are at three times the level of others.
  void find_near(const std::vector<std::size_t>& group) {
    std::map<std::pair<ByteOrder, int>, std::size_t> kinds;
    const auto kind_of = [&](std::size_t f) {
      const Span& span = seen_.fields[f].place.span;
      return std::pair(span.order(), span.width());
    };
    double noise = 0.3;
    for (const std::size_t f : group) {
      ++kinds[kind_of(f)];
      noise = std::max(noise, seen_.fields[f].noise);
    }
    const auto usual = std::ranges::max_element(kinds, {}, [](const auto& k) { return k.second; });
    near_.clear();
    for (const std::size_t i : here_) {
      const std::size_t f = fields_[i];
      near_.push_back(kind_of(f) == usual->first && seen_.fields[f].noise <= 2 * noise &&
                      !seen_.fields[f].is_other_cut);
    }
  }

  // What the total's own noise and rounding leave, as a share of its motion.
  [[nodiscard]] double floor() const {
    const Field& field = seen_.fields[total_];
    double squares = 0;
    for (std::size_t r = 1; r < rests_.size(); ++r) {
      for (const Rest& rest : {rests_[r - 1], rests_[r]}) {
        const double seconds = (rest.to - rest.from) * seen_.grid.window_s;
        const double frames = std::max(1.0, seconds / std::max(field.period_s, 1e-6));
        squares += field.noise * field.noise / frames + rounding * rounding / frames;
      }
    }
    return squares / size_of(y_);
  }

  std::vector<std::size_t> find_shown(const Products& products, double floor) const {
    std::vector<std::size_t> out;
    for (const std::size_t i : members_) {
      const OwnWeight weight = own_weight(products, members_, i, floor);
      if (weight.deviation > 0 &&
          std::abs(weight.own - weight.common) < same_weight * std::abs(weight.common) &&
          weight.deviation < known_weight * std::abs(weight.common)) {
        out.push_back(i);
      }
    }
    return out;
  }

  // What is not like the others is a member only by its own motion: of many fields some go with
  // what a line leaves, whose steps are few. True if there were such.
  bool leave_out_strangers() {
    const auto is_stranger = [&](std::size_t i) {
      const auto h = static_cast<std::size_t>(std::ranges::find(here_, i) - here_.begin());
      return !alike_[h] && !seen_.fields[fields_[i]].is_other_cut &&
             std::ranges::count(shown_, i) == 0;
    };
    return std::erase_if(members_, is_stranger) > 0;
  }

  // The total on the members' sum.
  bool draw_line() {
    sum_.assign(y_.size(), 0);
    double squares = 0;
    for (const std::size_t i : members_) {
      for (std::size_t r = 0; r < y_.size(); ++r) sum_[r] += moves_[i][r];
      squares += seen_.errors[fields_[i]] * seen_.errors[fields_[i]];
    }
    line_ = line_through_zero(sum_, y_, std::sqrt(squares), seen_.errors[total_], use_);
    return line_.slope != 0;
  }

  // Steps that do not fit are left out of the next turn; false if that changes nothing.
  bool leave_out_steps() {
    std::vector<double> left(y_.size());
    for (std::size_t r = 0; r < y_.size(); ++r) left[r] = y_[r] - line_.slope * sum_[r];
    const double usual = std::max(usual_size(left), 0.3);
    std::vector<bool> use(y_.size());
    double fits = 0;
    for (std::size_t r = 0; r < y_.size(); ++r) {
      use[r] = std::abs(left[r]) <= std::max(5 * usual, 0.05 * std::abs(y_[r]));
      if (use[r]) fits += y_[r] * y_[r];
    }
    covered_ = fits / size_of(y_);
    if (use == use_) return false;
    use_ = std::move(use);
    return true;
  }

  [[nodiscard]] double constant_of(const std::vector<std::size_t>& members) const {
    const Track sum = sum_of(seen_, members);
    const std::vector<double> sums = means_in(sum, rests_);
    const std::vector<double> totals = means_in(seen_.tracks[total_], rests_);
    std::vector<double> constants;
    for (std::size_t r = 0; r < sums.size(); ++r) {
      const double c = totals[r] - line_.slope * sums[r];
      if (!std::isnan(c)) constants.push_back(c);
    }
    return middle(std::move(constants));
  }

  // Which fields are members was chosen to fit: alike ones that are none, and others that are, of
  // those that move by more than what is left.
  [[nodiscard]] double choices() const {
    const double left = (1 - line_.r2) * size_of(y_);
    std::array<std::size_t, 2> movers{};  // alike, others
    std::array<std::size_t, 2> chosen{};
    for (std::size_t h = 0; h < here_.size(); ++h) {
      if (line_.slope * line_.slope * size_of(moves_[here_[h]]) < left) continue;
      const std::size_t kind = alike_[h] ? 0 : 1;
      ++movers[kind];
      if (std::ranges::count(members_, here_[h]) > 0) ++chosen[kind];
    }
    const double counts = static_cast<double>((movers[0] + 1) * (movers[1] + 1));
    return counts * std::exp(log_choices(movers[0], chosen[0]) + log_choices(movers[1], chosen[1]));
  }

  // One quantity that is sent twice shows once.
  void leave_out_copies(const Products& products) {
    std::vector<std::size_t> kept;
    for (const std::size_t i : shown_) {
      const double error = seen_.errors[fields_[i]];
      const double noise = 8 * error * error * products.n;
      const bool again = std::ranges::any_of(kept, [&](std::size_t j) {
        const double together = products.xx[i][j] * products.xx[i][j] / products.xx[j][j];
        return products.xx[i][i] - together < noise;
      });
      if (!again) kept.push_back(i);
    }
    shown_ = std::move(kept);
  }

  std::optional<SumRelation> finish(double tried) {
    if (line_.r2 < 0.9 || covered_ < 0.5) return std::nullopt;
    SumRelation found;
    found.total = total_;
    for (std::size_t h = 0; h < here_.size(); ++h) {
      const bool member = std::ranges::count(members_, here_[h]) > 0;
      if (member) found.members.push_back(fields_[here_[h]]);
      if (!member && alike_[h]) found.other.push_back(fields_[here_[h]]);
    }
    for (const std::size_t i : shown_) found.shown.push_back(fields_[i]);
    std::ranges::sort(found.members);
    found.factor = line_.slope;
    found.factor_deviation = line_.deviation;
    found.r2 = line_.r2;
    found.covered = covered_;
    found.steps = y_.size();
    found.constant = constant_of(found.members);
    found.chance = std::min(1.0, chance_by_size(sum_, y_, line_.slope, tried * choices()));
    const double left = std::max(1 - least_r2, std::min(0.1, more_than_noise * floor()));
    found.strong = 1 - found.r2 <= left && covered_ >= least_covered && found.chance <= most_chance;
    return found;
  }

  const LookedAt& seen_;
  std::size_t total_;
  std::vector<Rest> rests_;
  std::vector<std::size_t> fields_;
  std::vector<std::vector<double>> moves_;          // as fields_
  std::vector<std::size_t> here_;                   // indices into fields_: what is looked at
  std::vector<bool> alike_, near_;                  // as here_
  std::vector<std::vector<std::size_t>> overlaps_;  // likewise: others of here_ in the same bits
  std::vector<double> y_, sum_;
  std::vector<bool> use_;
  Products all_, some_;
  std::vector<std::size_t> members_, shown_;  // indices into fields_
  Line line_;
  double covered_ = 0;
};

bool better(const SumRelation& a, const SumRelation& b) {
  if (a.strong != b.strong) return a.strong;
  return a.chance != b.chance ? a.chance < b.chance : a.r2 > b.r2;
}

}  // namespace

Track sum_of(const LookedAt& seen, const std::vector<std::size_t>& members) {
  Track sum(seen.grid.windows);
  for (const std::size_t f : members) {
    for (std::size_t w = 0; w < sum.size(); ++w) sum[w] += seen.tracks[f][w];
  }
  return sum;
}

std::vector<SumRelation> find_sums(const LookedAt& seen,
                                   const std::vector<std::vector<std::size_t>>& groups) {
  const double tried = static_cast<double>(groups.size() * seen.fields.size());
  std::vector<std::size_t> fields;
  for (std::size_t f = 0; f < seen.fields.size(); ++f) {
    if (seen.fields[f].moved_bits >= 2) fields.push_back(f);
  }
  std::map<std::size_t, SumRelation> best;
  for (std::size_t total = 0; total < seen.fields.size(); ++total) {
    if (seen.fields[total].moved_bits < 4 || seen.fields[total].is_other_cut) continue;
    Total one(seen, total, fields);
    if (!one.moves()) continue;
    for (const std::vector<std::size_t>& group : groups) {
      auto found = one.run(group, tried);
      if (!found) continue;
      const auto at = best.find(total);
      if (at == best.end() || better(*found, at->second)) best[total] = std::move(*found);
    }
  }
  std::vector<SumRelation> out;
  for (auto& [total, relation] : best) out.push_back(std::move(relation));
  std::ranges::stable_sort(out, better);
  return out;
}

}  // namespace foundling::relate
