#include "tests/bench/recovery/plan.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace foundling::recovery {
namespace {

constexpr double longest_session_s = 900;

// People like round settings. Even staircases of channels that step together would be one straight
// line of each other, and no search could tell whose field is whose.
std::vector<double> draw_levels(const PlanItem& item, bool staircase, Rng& rng) {
  std::vector<double> levels;
  const bool round = rng.chance(0.5) && !staircase;
  const double step = (item.high - item.low) / item.levels;
  for (int i = 0; i < item.levels; ++i) {
    if (item.is_state) {
      levels.push_back(i);
      continue;
    }
    const double value = item.low + step * (i + (round ? 0.5 : rng.uniform(0.1, 0.9)));
    const double grain = std::pow(10.0, std::floor(std::log10(item.high - item.low)) - 2);
    levels.push_back(round ? std::round(value / grain) * grain : value);
  }
  return levels;
}

// Walks through an item's levels in random order, again and again.
struct Walk {
  std::vector<double> levels;
  std::vector<std::size_t> order;
  std::size_t next = 0;
  bool complete = false;

  double advance(double current, Rng& rng) {
    if (next >= order.size()) {
      complete = true;
      rng.shuffle(order);
      if (levels[order.front()] == current) std::swap(order.front(), order.back());
      next = 0;
    }
    const double value = levels[order[next++]];
    complete = complete || next == order.size();
    return value;
  }
};

class Planner {
 public:
  Planner(const std::vector<PlanItem>& items, const Recipe& recipe, Rng& rng)
      : items_(items), recipe_(recipe), rng_(rng), walks_(items.size()) {
    plan_.changes.resize(items.size());
    for (std::size_t i = 0; i < items.size(); ++i) {
      Walk& walk = walks_[i];
      walk.levels = draw_levels(items[i], recipe.staircase, rng);
      walk.order.resize(walk.levels.size());
      std::iota(walk.order.begin(), walk.order.end(), std::size_t{0});
      rng.shuffle(walk.order);
      if (recipe.staircase) {
        std::sort(walk.order.begin(), walk.order.end());
        if (rng.chance(0.5)) std::reverse(walk.order.begin(), walk.order.end());
      }
      plan_.changes[i].push_back(
          {0, recipe.staircase ? walk.advance(NAN, rng) : rng.pick(walk.levels)});
    }
  }

  Plan run(const std::vector<std::vector<std::size_t>>& groups) {
    time_ = rng_.uniform(6, 12);
    for (const auto& group : groups) run_group(group);
    for (std::size_t i = 0; i < items_.size(); ++i) {
      if (items_[i].follows >= 0) follow(i, static_cast<std::size_t>(items_[i].follows));
    }
    plan_.duration_s = time_ + recipe_.dwell_s.high;
    return std::move(plan_);
  }

 private:
  void run_group(const std::vector<std::size_t>& group) {
    const double share = group.size() == 1 || rng_.chance(0.5) ? 1.0 : rng_.uniform(0.5, 0.8);
    for (int guard = 0; guard < 60; ++guard) {
      const std::size_t certain = rng_.pick(group);
      bool complete = true;
      bool has_state = false;
      for (const std::size_t i : group) {
        // Two-way switches that all moved at every step would all say the same.
        const double chance = items_[i].is_state && group.size() > 1 ? 0.5 : share;
        if (i == certain || rng_.chance(chance)) change(i);
        complete = complete && walks_[i].complete;
        has_state = has_state || items_[i].is_state;
      }
      time_ += recipe_.dwell_s.draw(rng_);
      // A switch shows little a move, so it moves often; together, chance must be ruled out too.
      const int least = recipe_.staircase ? 1 : has_state ? 14 : group.size() == 1 ? 1 : 7;
      if (complete && guard + 1 >= least) return;
    }
  }

  void change(std::size_t i) {
    if (recipe_.staircase && walks_[i].complete) return;
    auto& changes = plan_.changes[i];
    changes.push_back({time_, walks_[i].advance(changes.back().value, rng_)});
  }

  void follow(std::size_t i, std::size_t leader) {
    const PlanItem& from = items_[leader];
    const PlanItem& to = items_[i];
    plan_.changes[i].clear();
    for (const Change& change : plan_.changes[leader]) {
      const double share = (change.value - from.low) / (from.high - from.low);
      plan_.changes[i].push_back({change.t_s, to.low + share * (to.high - to.low)});
    }
  }

  const std::vector<PlanItem>& items_;
  const Recipe& recipe_;
  Rng& rng_;
  std::vector<Walk> walks_;
  Plan plan_;
  double time_ = 0;
};

double estimate(const std::vector<PlanItem>& items,
                const std::vector<std::vector<std::size_t>>& groups, double dwell) {
  double total = 0;
  for (const auto& group : groups) {
    int most = 0;
    for (const std::size_t i : group) {
      most = std::max(most, items[i].is_state ? 12 : items[i].levels);
    }
    total += dwell * most * (group.size() > 1 ? 1.3 : 1.0);
  }
  return total;
}

std::vector<std::vector<std::size_t>> split(const std::vector<std::size_t>& order,
                                            std::size_t size) {
  std::vector<std::vector<std::size_t>> groups;
  for (std::size_t i = 0; i < order.size(); i += size) {
    groups.emplace_back(
        order.begin() + static_cast<std::ptrdiff_t>(i),
        order.begin() + static_cast<std::ptrdiff_t>(std::min(i + size, order.size())));
  }
  return groups;
}

}  // namespace

Plan draw_plan(const std::vector<PlanItem>& items, const Recipe& recipe, Rng& rng) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (items[i].follows < 0) order.push_back(i);
  }
  rng.shuffle(order);
  std::size_t size = order.size();
  if (recipe.plan == PlanStyle::one_at_a_time) size = 1;
  if (recipe.plan == PlanStyle::mixed && rng.chance(0.6)) {
    size = static_cast<std::size_t>(rng.integer(1, 5));
  }
  const double dwell = (recipe.dwell_s.low + recipe.dwell_s.high) / 2;
  while (size < order.size() && estimate(items, split(order, size), dwell) > longest_session_s) {
    ++size;
  }
  return Planner(items, recipe, rng).run(split(order, std::max<std::size_t>(size, 1)));
}

}  // namespace foundling::recovery
