#include "decoder/relate/sums.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "decoder/relate/chance.h"
#include "decoder/relate/linear.h"
#include "decoder/relate/middle.h"

namespace foundling::relate {
namespace {

constexpr std::size_t most_columns =
    48;                               // the members that move most; the work goes with the square
constexpr double stands_out = 5;      // errors
constexpr double same_weight = 0.2;   // of the common weight
constexpr double known_weight = 0.1;  // a weight's deviation, as a share of it
constexpr std::size_t fewest_shown = 3;
constexpr double least_r2 = 0.98;
constexpr double least_covered = 0.8;
constexpr double most_chance = 1e-3;

double size_of(const std::vector<double>& values) {
  double squares = 0;
  for (const double v : values) squares += v * v;
  return squares;
}

// A group beside a total. Members whose own motion stands out from what all of them do together get
// a column each, whose weight they show by themselves; the rest of them is one column.
class SumFit {
 public:
  SumFit(const LookedAt& seen, const std::vector<std::size_t>& group, std::size_t total)
      : seen_(seen), total_(total) {
    std::ranges::copy_if(group, std::back_inserter(rest_), [&](auto f) { return f != total; });
  }

  std::optional<SumRelation> run(double tried) {
    std::vector<std::size_t> all = rest_;
    all.push_back(total_);
    steps_ = steps_of(seen_, all);
    if (steps_.size() < 12) return std::nullopt;
    y_ = differences(seen_.tracks[total_], steps_);
    if (spread_over(y_) < 4) return std::nullopt;
    for (const std::size_t f : rest_) moves_.push_back(differences(seen_.tracks[f], steps_));
    leave_out_images();
    choose_columns();
    if (columns_.size() < fewest_shown) return std::nullopt;
    use_.assign(y_.size(), true);
    for (int turn = 0; turn < 3; ++turn) {
      if (!weigh() || !draw_line()) return std::nullopt;
    }
    return finish(tried);
  }

 private:
  enum class State { like, shown, other };

  // Other images of the total (a mean, a copy) would take the members' weight. They leave a tenth
  // of what a usual member leaves; where all go up and down together a member leaves little as
  // well.
  void leave_out_images() {
    std::vector<double> left;
    for (const auto& move : moves_) left.push_back(1 - line_through_zero(move, y_, 1, 1).r2);
    const double bound = std::min(0.01, 0.1 * middle(left));
    for (std::size_t i = rest_.size(); i-- > 0;) {
      if (left[i] >= bound) continue;
      rest_.erase(rest_.begin() + static_cast<std::ptrdiff_t>(i));
      moves_.erase(moves_.begin() + static_cast<std::ptrdiff_t>(i));
    }
  }

  // How far a member's own motion stands out, in its errors; 0 where it does so in too few steps.
  [[nodiscard]] double own_motion(std::size_t i, const std::vector<double>& together) const {
    const double bound = stands_out * std::sqrt(2.0) * seen_.errors[rest_[i]];
    double squares = 0;
    int steps = 0;
    for (std::size_t r = 0; r < y_.size(); ++r) {
      const double own = (moves_[i][r] - together[r]) / bound;
      if (std::abs(own) <= 1) continue;
      squares += own * own;
      ++steps;
    }
    return steps < 3 ? 0 : squares;
  }

  void choose_columns() {
    std::vector<double> together(y_.size());
    std::vector<double> at_once(moves_.size());
    for (std::size_t r = 0; r < y_.size(); ++r) {
      for (std::size_t i = 0; i < moves_.size(); ++i) at_once[i] = moves_[i][r];
      together[r] = middle(at_once);
    }
    std::vector<std::pair<double, std::size_t>> by_motion;
    for (std::size_t i = 0; i < rest_.size(); ++i) {
      if (const double own = own_motion(i, together); own > 0) by_motion.emplace_back(-own, i);
    }
    std::ranges::sort(by_motion);
    if (by_motion.size() > most_columns) by_motion.resize(most_columns);
    std::vector<bool> chosen(rest_.size());
    for (const auto& [own, i] : by_motion) chosen[i] = true;
    std::vector<std::size_t> others;
    std::vector<double> rest(y_.size());
    for (std::size_t i = 0; i < rest_.size(); ++i) {
      if (chosen[i]) {
        members_.push_back(rest_[i]);
        columns_.push_back(std::move(moves_[i]));
      } else {
        others.push_back(rest_[i]);
        for (std::size_t r = 0; r < y_.size(); ++r) rest[r] += moves_[i][r];
      }
    }
    rest_ = std::move(others);
    columns_.push_back(std::move(rest));
  }

  // Each column's weight by itself, the weight that they share, and who has it.
  bool weigh() {
    const Fit weights = fit(columns_, y_, 0.05 * static_cast<double>(y_.size()), use_);
    if (!weights.ok) return false;
    std::vector<std::pair<double, double>> known;  // weight, how well
    for (std::size_t i = 0; i < members_.size(); ++i) {
      const double size = std::abs(weights.slope[i]);
      const double deviation = weights.deviation[i];
      if (size > 5 * deviation) {
        known.emplace_back(weights.slope[i], 1 / (deviation * deviation + 1e-4 * size * size));
      }
    }
    if (known.size() < fewest_shown) return false;
    std::ranges::sort(known);
    double half = 0;
    for (const auto& one : known) half += one.second / 2;
    std::size_t at = 0;
    for (; at + 1 < known.size() && known[at].second < half; ++at) half -= known[at].second;
    const double common = known[at].first;
    state_.clear();
    for (std::size_t i = 0; i < columns_.size(); ++i) {
      state_.push_back(judge(weights.slope[i], weights.deviation[i], common));
    }
    state_.back() = state_.back() == State::other ? State::other : State::like;
    return std::ranges::count(state_, State::shown) >= static_cast<std::ptrdiff_t>(fewest_shown);
  }

  static State judge(double weight, double deviation, double common) {
    const double off = std::abs(weight - common);
    const double bound = same_weight * std::abs(common);
    if (off > std::max(4 * deviation, bound)) return State::other;
    return off < bound && deviation < known_weight * std::abs(common) ? State::shown : State::like;
  }

  // The total on the members' sum; steps that do not fit are left out of the next turn.
  bool draw_line() {
    sum_.assign(y_.size(), 0);
    double squares = 0;
    for (std::size_t i = 0; i < columns_.size(); ++i) {
      if (state_[i] == State::other) continue;
      for (std::size_t r = 0; r < y_.size(); ++r) sum_[r] += columns_[i][r];
      if (i < members_.size()) squares += seen_.errors[members_[i]] * seen_.errors[members_[i]];
    }
    if (state_.back() != State::other) {
      for (const std::size_t f : rest_) squares += seen_.errors[f] * seen_.errors[f];
    }
    line_ = line_through_zero(sum_, y_, std::sqrt(squares), seen_.errors[total_], use_);
    if (line_.slope == 0) return false;
    std::vector<double> left(y_.size());
    for (std::size_t r = 0; r < y_.size(); ++r) left[r] = y_[r] - line_.slope * sum_[r];
    const double usual = std::max(usual_size(left), 0.3);
    double fits = 0;
    for (std::size_t r = 0; r < y_.size(); ++r) {
      use_[r] = std::abs(left[r]) <= std::max(5 * usual, 0.05 * std::abs(y_[r]));
      if (use_[r]) fits += y_[r] * y_[r];
    }
    covered_ = fits / size_of(y_);
    return true;
  }

  [[nodiscard]] double constant_of(const std::vector<std::size_t>& members) const {
    const Track sum = sum_of(seen_, members);
    std::vector<double> constants;
    for (const auto& step : steps_) {
      const double c = seen_.tracks[total_][step.second] - line_.slope * sum[step.second];
      if (!std::isnan(c)) constants.push_back(c);
    }
    return middle(std::move(constants));
  }

  std::optional<SumRelation> finish(double tried) {
    if (line_.r2 < 0.9 || covered_ < 0.5) return std::nullopt;
    SumRelation found;
    found.total = total_;
    for (std::size_t i = 0; i < members_.size(); ++i) {
      if (state_[i] == State::shown) found.shown.push_back(members_[i]);
      (state_[i] == State::other ? found.other : found.members).push_back(members_[i]);
    }
    std::ranges::copy(
        rest_, std::back_inserter(state_.back() == State::other ? found.other : found.members));
    std::ranges::sort(found.members);
    found.factor = line_.slope;
    found.factor_deviation = line_.deviation;
    found.r2 = line_.r2;
    found.covered = covered_;
    found.steps = steps_.size();
    found.constant = constant_of(found.members);
    found.chance = chance_of(sum_, y_, tried, 1 + total_);
    found.strong = found.r2 >= least_r2 && covered_ >= least_covered && found.chance <= most_chance;
    return found;
  }

  const LookedAt& seen_;
  std::size_t total_;
  std::vector<std::size_t> rest_;             // members without a column of their own
  std::vector<std::vector<double>> moves_;    // of rest_, until columns are chosen
  std::vector<std::size_t> members_;          // with a column each
  std::vector<std::vector<double>> columns_;  // theirs, and one of the rest
  std::vector<State> state_;                  // as columns_
  Steps steps_;
  std::vector<double> y_, sum_;
  std::vector<bool> use_;
  Line line_;
  double covered_ = 0;
};

bool better(const SumRelation& a, const SumRelation& b) {
  if (a.strong != b.strong) return a.strong;
  if (a.shown.size() != b.shown.size()) return a.shown.size() > b.shown.size();
  return a.r2 > b.r2;
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
  std::map<std::size_t, SumRelation> best;
  for (const std::vector<std::size_t>& group : groups) {
    for (std::size_t total = 0; total < seen.fields.size(); ++total) {
      if (seen.fields[total].moved_bits < 4) continue;
      auto found = SumFit(seen, group, total).run(tried);
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
