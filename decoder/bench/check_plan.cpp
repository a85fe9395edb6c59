#include "decoder/bench/check_plan.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "decoder/bench/plan_text.h"
#include "decoder/bench/plan_time.h"
#include "schemas/signals/fact_text.h"
#include "schemas/values/nearest_word.h"

namespace foundling::bench {
namespace {

// A value that was typed as a multiple of the grain differs from it by rounding only.
bool beyond(double value, double low, double high) {
  const double slack = 1e-9 * std::max({std::abs(low), std::abs(high), high - low});
  return value < low - slack || value > high + slack;
}

class Checker {
 public:
  explicit Checker(const Plan& plan) : plan_(plan) {}

  std::vector<Diagnostic> run() {
    check_channels();
    if (found_.empty()) check_steps();
    return std::move(found_);
  }

 private:
  void error(TextPlace place, std::string message, std::string suggestion = {}) {
    found_.push_back({Severity::error, place, std::move(message), std::move(suggestion)});
  }

  void check_channels();
  void check_channel(const PlanChannel& channel);
  void check_leads();
  void check_steps();
  void check_step(const Step& step);
  void check_hold(const Step& step);
  void check_setting(const Step& step, const Setting& setting);
  void check_value(const Setting& setting, const std::string& name, const PlanChannel& channel);
  void check_parted(const Step& step);
  void unknown(const Setting& setting, const std::string& name);

  const Plan& plan_;
  std::vector<Diagnostic> found_;
  Standing standing_;
  std::map<std::string, std::string> words_;  // what state channels stand at
  std::set<std::string> set_here_;
  std::map<std::string, std::vector<std::string>> leads_;  // the channels on each
};

void Checker::check_channel(const PlanChannel& c) {
  if (c.is_state()) {
    if (c.words.empty()) {
      error(c.place, "expected the words of " + c.name + " below it", "words open closed");
    } else if (!c.rest_word.empty() && std::ranges::find(c.words, c.rest_word) == c.words.end()) {
      error(c.place, c.name + " rests at '" + c.rest_word + "', which is none of its words");
    }
    if (std::set<std::string>(c.words.begin(), c.words.end()).size() != c.words.size()) {
      error(c.place, c.name + " has a word twice");
    }
    return;
  }
  if (!(c.low < c.high)) {
    return error(c.place, "expected the limits of " + c.name + " below it", "limits 0..60 A");
  }
  if (beyond(c.rest_value(), c.low, c.high)) {
    error(c.place, c.name + " rests at " + shortest(c.rest_value()) + " " + c.unit +
                       ", beyond its limits " + shortest(c.low) + ".." + shortest(c.high));
  }
  if (c.grain && *c.grain > (c.high - c.low)) {
    error(c.place, "the grain of " + c.name + " is coarser than its limits are apart");
  }
}

void Checker::check_channels() {
  std::set<std::string> names;
  for (const PlanChannel& channel : plan_.channels) {
    check_channel(channel);
    for (const std::string& name : members(channel)) {
      if (!names.insert(name).second) error(channel.place, "a channel '" + name + "' twice");
      if (!channel.lead.empty()) leads_[channel.lead].push_back(name);
    }
  }
  check_leads();
}

void Checker::check_leads() {
  for (const auto& [lead, names] : leads_) {
    const PlanChannel& first = *find_channel(plan_, names.front());
    for (const std::string& name : names) {
      const PlanChannel& c = *find_channel(plan_, name);
      if (c.unit != first.unit || (c.is_state() && c.words != first.words)) {
        return error(c.place, name + " hangs on the lead '" + lead + "' with " + names.front() +
                                  ", which is in " + first.unit);
      }
      if (!c.is_state() && std::max(c.low, first.low) >= std::min(c.high, first.high)) {
        return error(c.place, name + " and " + names.front() + " on the lead '" + lead +
                                  "' have no value within the limits of both");
      }
    }
  }
}

void Checker::unknown(const Setting& setting, const std::string& name) {
  std::vector<std::string> known;
  for (const PlanChannel& c : plan_.channels) {
    const auto names = members(c);
    known.insert(known.end(), names.begin(), names.end());
  }
  const auto near = nearest_word(name, known);
  error(setting.place, "expected a channel of this plan, found '" + name + "'",
        near ? "did you mean '" + *near + "'?" : "declare it above the steps");
}

void Checker::check_value(const Setting& setting, const std::string& name,
                          const PlanChannel& channel) {
  const auto value = value_in_unit_of(channel, setting);
  if (!value) {
    return error(setting.value_place, name + " is in " + channel.unit + ", found " + setting.unit,
                 "write the value in " + channel.unit);
  }
  const std::string shown = shortest(*value) + ' ' + channel.unit;
  if (beyond(*value, channel.low, channel.high)) {
    const bool low = *value < channel.low;
    return error(setting.value_place,
                 shown + " is beyond the limits of " + name + ", " + shortest(channel.low) + ".." +
                     shortest(channel.high),
                 low ? "at least " + shortest(channel.low) + ' ' + channel.unit
                     : "at most " + shortest(channel.high) + ' ' + channel.unit);
  }
  const double way = std::abs(*value - standing_[name]);
  if (channel.jump && beyond(way, 0, *channel.jump)) {
    error(setting.value_place,
          name + " goes from " + shortest(standing_[name]) + " to " + shown +
              " in one step, further than its jump of " + shortest(*channel.jump),
          "put a step with a value between them before this one");
  }
}

// One message a step, of what takes longest: a source over thirty cells would have thirty.
void Checker::check_hold(const Step& step) {
  std::string slowest;
  double longest = plan_.hold_of(step);
  for (const Setting& setting : step.settings) {
    for (const std::string& name : setting.channels) {
      const PlanChannel* channel = find_channel(plan_, name);
      if (channel == nullptr) continue;
      const double settle = channel->settle_s.value_or(default_settle_s);
      if (settle <= longest) continue;
      longest = settle;
      slowest = name;
    }
  }
  if (slowest.empty()) return;
  error(step.place,
        "a hold of " + duration_text(plan_.hold_of(step)) + " is shorter than " + slowest +
            " takes to settle",
        "hold at least " + duration_text(longest));
}

void Checker::check_setting(const Step& step, const Setting& setting) {
  for (const std::string& name : setting.channels) {
    const PlanChannel* channel = find_channel(plan_, name);
    if (channel == nullptr) return unknown(setting, name);
    if (!set_here_.insert(name).second) {
      return error(setting.place, name + " is set twice in step " + std::to_string(step.number));
    }
    if (!channel->is_state()) {
      if (setting.word.empty()) {
        check_value(setting, name, *channel);
      } else {
        error(setting.value_place,
              "expected a number in " + channel->unit + ", found '" + setting.word + "'");
      }
      continue;
    }
    if (!setting.unit.empty() ||
        std::ranges::find(channel->words, setting.word) == channel->words.end()) {
      const auto near = nearest_word(setting.word, channel->words);
      error(setting.value_place, "expected a word of " + name + ", found '" + setting.word + "'",
            near ? "did you mean '" + *near + "'?" : "");
    } else {
      words_[name] = setting.word;
    }
  }
}

// After a step, channels on one lead stand alike.
void Checker::check_parted(const Step& step) {
  for (const auto& on_lead : leads_) {
    const std::string& lead = on_lead.first;
    const std::vector<std::string>& names = on_lead.second;
    const bool state = find_channel(plan_, names.front())->is_state();
    const bool moved =
        std::ranges::any_of(names, [&](const auto& n) { return set_here_.contains(n); });
    const bool alike = std::ranges::all_of(names, [&](const auto& n) {
      return state ? words_[n] == words_[names.front()] : standing_[n] == standing_[names.front()];
    });
    if (moved && !alike) {
      error(step.place,
            "channels on the lead '" + lead + "' part in step " + std::to_string(step.number) +
                ", but always have the same value",
            "set " + names_text(names) + " in one line");
    }
  }
}

void Checker::check_step(const Step& step) {
  const std::size_t before = found_.size();
  set_here_.clear();
  check_hold(step);
  for (const Setting& setting : step.settings) check_setting(step, setting);
  if (found_.size() > before) return;
  (void)carry_out(plan_, step, standing_);
  check_parted(step);
}

void Checker::check_steps() {
  standing_ = at_rest(plan_);
  for (const PlanChannel& channel : plan_.channels) {
    if (!channel.is_state()) continue;
    for (const std::string& name : members(channel)) words_[name] = channel.rest_state();
  }
  int expected = 1;
  for (const Step& step : plan_.steps) {
    if (step.number != expected) {
      error(step.place,
            "expected step " + std::to_string(expected) + ", found step " +
                std::to_string(step.number),
            "steps are numbered one after the other, from 1");
      expected = step.number;
    }
    ++expected;
    check_step(step);
  }
  const double seconds = plan_seconds(plan_);
  if (plan_.at_most_s && seconds > *plan_.at_most_s) {
    found_.push_back({Severity::warning,
                      plan_.steps.front().place,
                      "the steps take " + duration_text(std::round(seconds)) + ", longer than " +
                          duration_text(*plan_.at_most_s),
                      {}});
  }
}

}  // namespace

std::vector<Diagnostic> check_plan(const Plan& plan) { return Checker(plan).run(); }

}  // namespace foundling::bench
