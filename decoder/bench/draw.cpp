#include "decoder/bench/draw.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "decoder/bench/knob.h"
#include "decoder/bench/orders.h"
#include "decoder/bench/plan_text.h"
#include "decoder/bench/plan_time.h"
#include "decoder/bench/safe_path.h"

namespace foundling::bench {
namespace {

constexpr int fewest_steps = 2 * fewest_changes;  // a two-way switch changes at half of them

struct Size {
  int levels;  // at most
  int repeat;  // at most
  int steps;
};

int steps_for(const std::vector<Knob>& knobs, int most_levels, int most_repeat) {
  int steps = 1;
  for (const Knob& knob : knobs) {
    const int repeat = std::min(knob.repeat, most_repeat);
    int needed = std::max(std::min(knob.levels, most_levels), fewest_levels) * repeat;
    // A channel is under the source in half of the steps, and switches change at half of them.
    if (knob.in_sets) needed = std::max(needed, 2 * std::min(most_levels, fewest_levels));
    if (knob.is_state() && most_repeat > 1) needed = std::max(needed, fewest_steps);
    steps = std::max(steps, needed);
  }
  return steps;
}

std::vector<Target> targets_at(const std::vector<Knob>& knobs, const std::vector<KnobOrder>& orders,
                               std::size_t step) {
  std::vector<Target> targets;
  for (std::size_t k = 0; k < knobs.size(); ++k) {
    const KnobOrder& order = orders[k];
    Target target{order.levels[order.at[step]], {}};
    for (const auto& covers : order.covers) target.covers.push_back(covers[step]);
    const bool over_none = std::ranges::find(target.covers, true) == target.covers.end();
    if (knobs[k].in_sets && over_none) target.value = knobs[k].rest;
    targets.push_back(std::move(target));
  }
  return targets;
}

Drawn draw(const Plan& of, const std::vector<Knob>& knobs, std::uint64_t seed, const Size& size) {
  Random random(seed);
  const std::vector<KnobOrder> orders = draw_orders(knobs, size.levels, size.steps, random);
  Drawn out;
  out.plan = of;
  out.plan.seed = seed;
  out.most_levels = size.levels;
  out.plan.steps.clear();
  std::vector<Step>& steps = out.plan.steps;
  SafePath path(knobs);
  steps.push_back(path.begin());
  const auto add = [&](std::vector<Step> way) {
    for (Step& step : way) steps.push_back(std::move(step));
  };
  for (int s = 0; s < size.steps; ++s) {
    add(path.go(targets_at(knobs, orders, static_cast<std::size_t>(s))));
    out.drawn.push_back(steps.size() - 1);
  }
  add(path.go(path.rest()));
  for (std::size_t i = 0; i < steps.size(); ++i) {
    steps[i].number = static_cast<int>(i + 1);
    steps[i].remarks[""].above = {""};
  }
  steps.front().notes = {"everything at rest"};
  steps.back().notes = {"back to rest"};
  return out;
}

Result<std::vector<Knob>> knobs_to_draw(const Plan& of) {
  std::vector<Knob> knobs = knobs_of(of);
  if (knobs.empty()) return Error{ErrorCode::usage, "the plan has no channel to move"};
  const double hold = of.hold_s.value_or(default_hold_s);
  for (const Knob& knob : knobs) {
    if (knob.settle_s <= hold) continue;
    return Error{ErrorCode::usage, knob.channels.front() + " takes " +
                                       duration_text(knob.settle_s) +
                                       " to settle, but steps are held for " + duration_text(hold) +
                                       "; write a longer hold"};
  }
  return knobs;
}

}  // namespace

Result<Drawn> draw_steps(const Plan& of, std::uint64_t seed, int steps, int most_levels) {
  const auto knobs = knobs_to_draw(of);
  if (!knobs) return knobs.error();
  return draw(of, *knobs, seed, {std::max(most_levels, 2), 1, std::max(steps, 2)});
}

Result<Drawn> draw_plan(const Plan& of, std::uint64_t seed) {
  const auto knobs = knobs_to_draw(of);
  if (!knobs) return knobs.error();
  int levels = 0;
  int repeat = 0;
  for (const Knob& knob : *knobs) {
    if (!knob.is_state()) levels = std::max(levels, knob.levels);
    repeat = std::max(repeat, knob.repeat);
  }
  const int all_levels = levels;
  const int all_repeat = repeat;
  while (true) {
    Drawn drawn = draw(of, *knobs, seed, {levels, repeat, steps_for(*knobs, levels, repeat)});
    const double seconds = plan_seconds(drawn.plan);
    if (!of.at_most_s || seconds <= *of.at_most_s) {
      drawn.levels_cut = levels < all_levels ? levels : 0;
      drawn.repeat_cut = repeat < all_repeat ? repeat : 0;
      return drawn;
    }
    // Fewer repetitions first: a level more says more than a level again.
    if (repeat > 1) {
      --repeat;
    } else if (levels > fewest_levels) {
      --levels;
    } else {
      return Error{ErrorCode::usage, "not even " + std::to_string(fewest_levels) +
                                         " levels of everything fit into " +
                                         duration_text(*of.at_most_s) + "; that takes " +
                                         duration_text(std::ceil(seconds / 60) * 60)};
    }
  }
}

}  // namespace foundling::bench
