#include "decoder/bench/knob.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <map>

namespace foundling::bench {
namespace {

// A thousandth to a hundredth of the range, a power of ten: what a person can set and read.
double usual_grain(double range) { return std::pow(10.0, std::floor(std::log10(range)) - 2); }

Knob knob_for(const PlanChannel& c, std::vector<std::string> channels) {
  Knob knob;
  knob.channels = std::move(channels);
  knob.in_sets = c.moves == Moves::in_sets;
  knob.unit = c.unit;
  knob.low = c.low;
  knob.high = c.high;
  knob.rest = c.is_state() ? 0 : c.rest_value();
  knob.words = c.words;
  knob.rest_word = c.rest_state();
  knob.levels = c.is_state() ? static_cast<int>(c.words.size()) : c.levels.value_or(default_levels);
  knob.repeat = c.repeat.value_or(default_repeat);
  knob.settle_s = c.settle_s.value_or(default_settle_s);
  knob.jump = c.jump.value_or(0);
  if (!c.is_state()) knob.grain = c.grain.value_or(usual_grain(c.high - c.low));
  return knob;
}

// What both allow.
void join(Knob& knob, const Knob& other) {
  knob.channels.insert(knob.channels.end(), other.channels.begin(), other.channels.end());
  knob.low = std::max(knob.low, other.low);
  knob.high = std::min(knob.high, other.high);
  knob.rest = std::clamp(knob.rest, knob.low, std::max(knob.low, knob.high));
  knob.levels = std::max(knob.levels, other.levels);
  knob.repeat = std::max(knob.repeat, other.repeat);
  knob.settle_s = std::max(knob.settle_s, other.settle_s);
  knob.grain = std::max(knob.grain, other.grain);
  if (other.jump > 0) knob.jump = knob.jump > 0 ? std::min(knob.jump, other.jump) : other.jump;
}

// The double that the shortest text of a dozen digits means: 0.3 instead of 3 * 0.1.
double plain(double value) {
  char text[40];
  const int length = std::snprintf(text, sizeof text, "%.12g", value);
  double out = value;
  std::from_chars(text, text + length, out);
  return out == 0 ? 0 : out;  // no -0
}

}  // namespace

std::vector<Knob> knobs_of(const Plan& plan) {
  std::vector<Knob> knobs;
  std::map<std::string, std::size_t> leads;
  for (const PlanChannel& c : plan.channels) {
    if (!c.lead.empty()) {
      const Knob knob = knob_for(c, members(c));
      const auto [known, fresh] = leads.emplace(c.lead, knobs.size());
      if (fresh) {
        knobs.push_back(knob);
        knobs.back().in_sets = false;
      } else {
        join(knobs[known->second], knob);
      }
    } else if (c.moves == Moves::in_sets) {
      knobs.push_back(knob_for(c, members(c)));
    } else {
      for (const std::string& name : members(c)) knobs.push_back(knob_for(c, {name}));
    }
  }
  return knobs;
}

double to_grain(const Knob& knob, double value) {
  // Rounded towards the inside, so that a limit between two multiples is never passed.
  const double slack = 1e-9;
  const double least = std::ceil(knob.low / knob.grain - slack);
  const double most = std::floor(knob.high / knob.grain + slack);
  if (least > most) return std::clamp(value, knob.low, knob.high);
  const double steps = std::clamp(std::round(value / knob.grain), least, most);
  return std::clamp(plain(steps * knob.grain), knob.low, knob.high);
}

std::vector<double> draw_levels(const Knob& knob, int count, Random& random) {
  std::vector<double> levels;
  const double spacing = (knob.high - knob.low) / std::max(count - 1, 1);
  for (int i = 0; i < count; ++i) {
    const bool end = i == 0 || i == count - 1;
    const double shift = end ? 0 : (random.uniform() - 0.5) * 0.7;
    levels.push_back(to_grain(knob, knob.low + spacing * (i + shift)));
  }
  // Over a set, a level at rest is none.
  const auto idle = [&](double level) {
    return knob.in_sets && std::abs(level - knob.rest) < 0.3 * spacing;
  };
  std::erase_if(levels, idle);
  std::ranges::sort(levels);
  levels.erase(std::unique(levels.begin(), levels.end()), levels.end());
  return levels;
}

}  // namespace foundling::bench
