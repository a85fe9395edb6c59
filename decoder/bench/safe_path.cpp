#include "decoder/bench/safe_path.h"

#include <algorithm>
#include <cmath>

#include "decoder/bench/draw.h"

namespace foundling::bench {
namespace {

std::vector<std::string> under(const Knob& knob, const std::vector<bool>& covers) {
  std::vector<std::string> names;
  for (std::size_t c = 0; c < covers.size(); ++c) {
    if (covers[c]) names.push_back(knob.channels[c]);
  }
  return names;
}

Setting setting(std::vector<std::string> channels, const Knob& knob, double value) {
  Setting out;
  out.channels = std::move(channels);
  if (knob.is_state()) {
    out.word = knob.words[static_cast<std::size_t>(value)];
  } else {
    out.value = value;
  }
  return out;
}

// What has to be set to get from one state of a knob to another.
void add_settings(Step& step, const Knob& knob, const Target& from, const Target& to) {
  if (!knob.in_sets) {
    if (from.value != to.value) step.settings.push_back(setting(knob.channels, knob, to.value));
    return;
  }
  std::vector<std::string> leaving, covered;
  for (std::size_t c = 0; c < knob.channels.size(); ++c) {
    const bool was_off_rest = from.covers[c] && from.value != knob.rest;
    const bool is_off_rest = to.covers[c] && to.value != knob.rest;
    if (was_off_rest && !is_off_rest) leaving.push_back(knob.channels[c]);
    if (is_off_rest && (!was_off_rest || from.value != to.value)) {
      covered.push_back(knob.channels[c]);
    }
  }
  if (!leaving.empty()) step.settings.push_back(setting(std::move(leaving), knob, knob.rest));
  if (covered.empty()) return;
  step.settings.push_back(setting(under(knob, to.covers), knob, to.value));
}

}  // namespace

SafePath::SafePath(const std::vector<Knob>& knobs) : knobs_(knobs) {
  for (const Target& target : rest()) states_.push_back({target, 0, 0});
}

std::vector<Target> SafePath::rest() const {
  std::vector<Target> targets;
  for (const Knob& knob : knobs_) {
    Target target;
    target.value = knob.rest;
    if (knob.is_state()) {
      const auto word = std::ranges::find(knob.words, knob.rest_word);
      target.value = static_cast<double>(word - knob.words.begin());
    }
    if (knob.in_sets) target.covers.assign(knob.channels.size(), false);
    targets.push_back(std::move(target));
  }
  return targets;
}

Step SafePath::begin() const {
  Step step;
  for (std::size_t k = 0; k < knobs_.size(); ++k) {
    step.settings.push_back(setting(knobs_[k].channels, knobs_[k], states_[k].now.value));
  }
  return step;
}

bool SafePath::there(std::size_t knob, const Target& target) const {
  const Target& now = states_[knob].now;
  if (now.value != target.value) return false;
  return now.covers == target.covers || now.value == knobs_[knob].rest;
}

// As far from one value towards another as may be gone at once.
double SafePath::towards(std::size_t knob, double from, double to) const {
  const Knob& k = knobs_[knob];
  const State& state = states_[knob];
  const double up = std::max(first_reach * (k.high - k.rest), 2 * state.reach_up);
  const double down = std::max(first_reach * (k.rest - k.low), 2 * state.reach_down);
  double most = k.rest + up;
  double least = k.rest - down;
  if (k.jump > 0) {
    most = std::min(most, from + k.jump);
    least = std::max(least, from - k.jump);
  }
  if (to >= least && to <= most) return to;
  const double bound = std::clamp(to, std::min(least, from), std::max(most, from));
  // A value that can be set, if one lies between; else the bound itself.
  const double rounded = to > from ? std::floor(bound / k.grain) : std::ceil(bound / k.grain);
  const double set = to_grain(k, rounded * k.grain);
  const bool between = to > from ? set > from && set <= bound : set < from && set >= bound;
  return between ? set : bound;
}

Target SafePath::next(std::size_t knob, const Target& target) const {
  const Knob& k = knobs_[knob];
  const Target& now = states_[knob].now;
  if (k.is_state()) return target;
  if (!k.in_sets) return {towards(knob, now.value, target.value), {}};
  const bool same_set = now.covers == target.covers;
  if (same_set) return {towards(knob, now.value, target.value), now.covers};
  // Channels that leave fall to rest, those that stay go over, those that come rise from rest.
  const bool can_leave = towards(knob, now.value, k.rest) == k.rest;
  if (!can_leave) return {towards(knob, now.value, k.rest), now.covers};
  double value = towards(knob, k.rest, target.value);
  if (k.jump > 0 && std::abs(value - now.value) > k.jump) value = k.rest;
  return {value, target.covers};
}

Step SafePath::advance(const std::vector<Target>& targets) {
  Step step;
  double hold = on_the_way_hold_s;
  for (std::size_t k = 0; k < knobs_.size(); ++k) {
    if (there(k, targets[k])) continue;
    const Knob& knob = knobs_[k];
    State& state = states_[k];
    const Target to = next(k, targets[k]);
    add_settings(step, knob, state.now, to);
    hold = std::max(hold, knob.settle_s);
    state.now = to;
    if (knob.is_state()) continue;
    state.reach_up = std::max(state.reach_up, to.value - knob.rest);
    state.reach_down = std::max(state.reach_down, knob.rest - to.value);
  }
  step.hold_s = hold;
  return step;
}

std::vector<Step> SafePath::go(const std::vector<Target>& targets) {
  std::vector<Step> steps;
  const auto arrived = [&] {
    for (std::size_t k = 0; k < knobs_.size(); ++k) {
      if (!there(k, targets[k])) return false;
    }
    return true;
  };
  do {
    steps.push_back(advance(targets));
    steps.back().notes = {"on the way"};
  } while (!arrived());
  steps.back().hold_s.reset();
  steps.back().notes.clear();
  return steps;
}

}  // namespace foundling::bench
