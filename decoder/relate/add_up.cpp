#include "decoder/relate/add_up.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <optional>
#include <random>

namespace foundling::relate {
namespace {

// Nats that a field must be worth to stay out although it is alike, and to be in although it is
// not: of alike fields one in fifty is a stranger, of others a member is as rare (chosen).
constexpr double stranger_cost = 4;
constexpr double unlike_cost = 6;
// A choice that is bettered one field at a time may end where only two at once would help.
constexpr int starts = 12;
// What explains less is no sum with a member or two amiss; what explains more is one (chosen).
constexpr double hopeful_r2 = 0.5;
constexpr double certain_r2 = 0.98;

// A choice of members that is bettered one field at a time.
class Choice {
 public:
  // `start`: which of the fields to begin with.
  Choice(const Products& products, const Candidates& candidates, double floor,
         const std::vector<bool>& start)
      : p_(products),
        fields_(candidates.fields),
        alike_(candidates.alike),
        overlaps_(candidates.overlaps),
        floor_(floor),
        chosen_(fields_.size()),
        with_(fields_.size()) {
    for (std::size_t i = 0; i < fields_.size(); ++i) {
      if (alike_[i]) price_ += stranger_cost;
    }
    for (std::size_t i = 0; i < fields_.size(); ++i) {
      if (start[i] && in_the_way(i).empty()) toggle(i);
    }
    cost_ = cost(sy_, ss_, price_);
  }

  void better() {
    for (std::size_t turn = 0; turn < 4 * fields_.size(); ++turn) {
      std::size_t best = fields_.size();
      double least = cost_ - 1e-6;
      for (std::size_t i = 0; i < fields_.size(); ++i) {
        if (const double now = cost_after(i); now < least) least = now, best = i;
      }
      if (best == fields_.size()) return;
      for (const std::size_t j : in_the_way(best)) toggle(j);
      toggle(best);
      cost_ = least;
    }
  }

  // Members that moved against each other show only together.
  void better_by_pairs() {
    for (std::size_t turn = 0; turn < fields_.size() && better_pair(); ++turn) better();
  }

  [[nodiscard]] double cost() const { return cost_; }
  [[nodiscard]] double r2() const { return ss_ > 0 ? sy_ * sy_ / (ss_ * p_.yy) : 0; }
  [[nodiscard]] std::vector<std::size_t> members() const {
    std::vector<std::size_t> out;
    for (std::size_t i = 0; i < fields_.size(); ++i) {
      if (chosen_[i]) out.push_back(fields_[i]);
    }
    return out;
  }

 private:
  void toggle(std::size_t i) {
    const double sign = chosen_[i] ? -1 : 1;
    const std::size_t f = fields_[i];
    ss_ += 2 * sign * with_[i] + p_.xx[f][f];
    sy_ += sign * p_.xy[f];
    price_ += price_of(i);
    chosen_[i] = !chosen_[i];
    for (std::size_t j = 0; j < fields_.size(); ++j) with_[j] += sign * p_.xx[f][fields_[j]];
  }

  bool better_pair() {
    std::size_t one = fields_.size();
    std::size_t two = fields_.size();
    double least = cost_ - 1e-6;
    for (std::size_t i = 0; i < fields_.size(); ++i) {
      for (std::size_t j = 0; j < i; ++j) {
        if (const double now = cost_after(i, j); now < least) least = now, one = i, two = j;
      }
    }
    if (one == fields_.size() || !in_the_way(one).empty() || !in_the_way(two).empty()) return false;
    toggle(one);
    toggle(two);
    cost_ = least;
    return true;
  }

  [[nodiscard]] double cost_after(std::size_t i, std::size_t j) const {
    const double sign_i = chosen_[i] ? -1 : 1;
    const double sign_j = chosen_[j] ? -1 : 1;
    const std::size_t f = fields_[i];
    const std::size_t g = fields_[j];
    const double sy = sy_ + sign_i * p_.xy[f] + sign_j * p_.xy[g];
    const double ss = ss_ + 2 * (sign_i * with_[i] + sign_j * with_[j]) + p_.xx[f][f] +
                      p_.xx[g][g] + 2 * sign_i * sign_j * p_.xx[f][g];
    return cost(sy, ss, price_ + price_of(i) + price_of(j));
  }

  // Members that have some of its bits, and would have to go.
  [[nodiscard]] std::vector<std::size_t> in_the_way(std::size_t i) const {
    std::vector<std::size_t> out;
    if (chosen_[i]) return out;
    std::ranges::copy_if(overlaps_[i], std::back_inserter(out),
                         [&](std::size_t j) { return chosen_[j]; });
    return out;
  }

  // Of turning a field's choice round.
  [[nodiscard]] double price_of(std::size_t i) const {
    const double into = alike_[i] ? -stranger_cost : unlike_cost;
    return chosen_[i] ? -into : into;
  }

  [[nodiscard]] double cost(double sy, double ss, double price) const {
    const double r2 = ss > 0 ? sy * sy / (ss * p_.yy) : 0;
    return p_.n / 2 * std::log(std::max(0.0, 1 - r2) + floor_) + price;
  }

  [[nodiscard]] double cost_after(std::size_t i) const {
    const double sign = chosen_[i] ? -1 : 1;
    const std::size_t f = fields_[i];
    double sy = sy_ + sign * p_.xy[f];
    double ss = ss_ + 2 * sign * with_[i] + p_.xx[f][f];
    double price = price_ + price_of(i);
    for (const std::size_t j : in_the_way(i)) {
      const std::size_t g = fields_[j];
      sy -= p_.xy[g];
      price += price_of(j);
      ss += -2 * (with_[j] + p_.xx[f][g]) + p_.xx[g][g];
      for (const std::size_t k : in_the_way(i)) ss += k < j ? 2 * p_.xx[g][fields_[k]] : 0;
    }
    return cost(sy, ss, price);
  }

  const Products& p_;
  const std::vector<std::size_t>& fields_;
  const std::vector<bool>& alike_;
  const std::vector<std::vector<std::size_t>>& overlaps_;
  double floor_;
  std::vector<bool> chosen_;
  std::vector<double> with_;  // each field's products with the sum of the chosen ones
  double sy_ = 0;
  double ss_ = 0;
  double price_ = 0;
  double cost_ = std::numeric_limits<double>::infinity();
};

}  // namespace

Products products_of(const std::vector<std::vector<double>>& moves, const std::vector<double>& y,
                     const std::vector<bool>& use) {
  const std::size_t m = moves.size();
  Products out{0, std::vector<double>(m), std::vector(m, std::vector<double>(m)), 0};
  for (std::size_t r = 0; r < y.size(); ++r) {
    if (!use[r]) continue;
    out.n += 1;
    out.yy += y[r] * y[r];
    for (std::size_t i = 0; i < m; ++i) {
      const double x = moves[i][r];
      if (x == 0) continue;
      out.xy[i] += x * y[r];
      for (std::size_t j = 0; j <= i; ++j) out.xx[i][j] += x * moves[j][r];
    }
  }
  for (std::size_t i = 0; i < m; ++i) {
    for (std::size_t j = 0; j < i; ++j) out.xx[j][i] = out.xx[i][j];
  }
  return out;
}

std::vector<std::size_t> add_up(const Products& products, const Candidates& candidates,
                                double floor) {
  const std::size_t n = candidates.fields.size();
  std::mt19937_64 random(n);
  std::optional<Choice> best;
  for (int turn = 0; turn < starts; ++turn) {
    if (turn > 2 && (best->r2() < hopeful_r2 || best->r2() > certain_r2)) break;
    // None, all that are alike, nearly alike ones too, and such as chance has it.
    std::vector<bool> start(n);
    for (std::size_t i = 0; i < n; ++i) {
      const bool all = turn < 3 || random() % 2 == 0;
      start[i] = all && ((turn > 0 && candidates.alike[i]) || (turn > 1 && candidates.near[i]));
    }
    Choice choice(products, candidates, floor, start);
    choice.better();
    if (!best || choice.cost() < best->cost()) best.emplace(choice);
  }
  if (best->r2() >= hopeful_r2) best->better_by_pairs();
  return best->members();
}

OwnWeight own_weight(const Products& products, const std::vector<std::size_t>& members,
                     std::size_t one, double floor) {
  double sx = 0;
  double ss = 0;
  double sy = 0;
  for (const std::size_t i : members) {
    if (i == one) continue;
    sx += products.xx[i][one];
    sy += products.xy[i];
    for (const std::size_t j : members) ss += j == one ? 0 : products.xx[i][j];
  }
  const double xx = products.xx[one][one];
  const double det = ss * xx - sx * sx;
  if (!(det > 1e-9 * ss * xx)) return {};
  OwnWeight out;
  out.common = (sy * xx - products.xy[one] * sx) / det;
  out.own = (products.xy[one] * ss - sy * sx) / det;
  const double left = products.yy - out.common * sy - out.own * products.xy[one];
  const double variance = std::max(left, floor * products.yy) / std::max(1.0, products.n - 2);
  out.deviation = std::sqrt(variance * ss / det);
  return out;
}

}  // namespace foundling::relate
