#include "decoder/bench/redraw.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "decoder/bench/courses.h"
#include "schemas/values/unit.h"

namespace foundling::bench {
namespace {

bool same_setting(const Setting& a, const Setting& b) {
  return a.channels == b.channels && a.value == b.value && a.word == b.word;
}

bool same_steps(const Plan& a, const Plan& b) {
  return std::ranges::equal(a.steps, b.steps, [&](const Step& x, const Step& y) {
    return std::ranges::equal(x.settings, y.settings, same_setting);
  });
}

// The units that a drawn plan leaves out, a read one has written.
Plan in_channel_units(Plan plan) {
  for (Step& step : plan.steps) {
    for (Setting& setting : step.settings) {
      const PlanChannel* channel = find_channel(plan, setting.channels.front());
      if (channel == nullptr || channel->is_state()) continue;
      setting.value = value_in_unit_of(*channel, setting).value_or(setting.value);
      setting.unit.clear();
    }
  }
  return plan;
}

struct SettingInStep {
  std::size_t step;
  double value;
};

// The settings of one numeric channel, in order.
std::vector<SettingInStep> settings_of(const Plan& plan, const std::string& name) {
  std::vector<SettingInStep> settings;
  for (std::size_t s = 0; s < plan.steps.size(); ++s) {
    for (const Setting& setting : plan.steps[s].settings) {
      if (std::ranges::find(setting.channels, name) == setting.channels.end()) continue;
      settings.push_back({s, setting.value});
    }
  }
  return settings;
}

}  // namespace

std::optional<Drawn> drawn_again(const Plan& plan) {
  if (!plan.seed || plan.steps.empty()) return {};
  auto drawn = draw_plan(plan, *plan.seed);
  if (!drawn || !same_steps(drawn->plan, in_channel_units(plan))) return {};
  return *std::move(drawn);
}

std::optional<std::vector<Stretch>> stretches_of(const Drawn& drawn,
                                                 std::span<const ChannelSeries> channels,
                                                 std::int64_t end_ns) {
  constexpr std::int64_t never = std::numeric_limits<std::int64_t>::max();
  const std::size_t steps = drawn.plan.steps.size();
  std::vector<std::int64_t> first(steps, never), last(steps, -never);
  int matched = 0;
  for (const ChannelSeries& series : channels) {
    const PlanChannel* channel = find_channel(drawn.plan, series.channel.name);
    // What an instrument recorded by itself is no setting.
    const bool set = series.channel.kind == ChannelKind::hold;
    if (channel == nullptr || channel->is_state() || !set) continue;
    const auto conversion = unit_conversion(series.channel.unit, channel->unit);
    if (!conversion) return {};
    const auto settings = settings_of(drawn.plan, series.channel.name);
    if (settings.size() != series.readings.size()) return {};
    const double near = 0.1 * (channel->high - channel->low);
    for (std::size_t i = 0; i < settings.size(); ++i) {
      const Reading& reading = series.readings[i];
      if (!(std::abs(conversion->value(reading.value) - settings[i].value) <= near)) return {};
      first[settings[i].step] = std::min(first[settings[i].step], reading.t_ns);
      last[settings[i].step] = std::max(last[settings[i].step], reading.t_ns);
    }
    ++matched;
  }
  if (matched == 0) return {};
  std::vector<Stretch> stretches;
  for (const std::size_t s : drawn.drawn) {
    // A step in which no matched channel moved cannot be placed in time.
    if (last[s] == -never) return {};
    std::int64_t next = end_ns;
    for (std::size_t t = steps; t-- > s + 1;) next = std::min(next, first[t]);
    if (next <= last[s]) return {};
    stretches.push_back({last[s], next});
  }
  return stretches;
}

Redrawn redraw(const Drawn& drawn, std::vector<Stretch> stretches, std::uint64_t seed, int draws) {
  Redrawn out;
  out.stretches = std::move(stretches);
  const auto note = [&](const Drawn& one) {
    for (const Course& course : courses_of(one.plan)) {
      if (course.channel->is_state()) continue;
      std::vector<double> levels;
      for (const std::size_t s : one.drawn) levels.push_back(course.values[s]);
      out.levels[course.name].push_back(std::move(levels));
    }
  };
  note(drawn);
  const auto steps = static_cast<int>(drawn.drawn.size());
  for (int k = 0; k < draws; ++k) {
    const auto other =
        draw_steps(drawn.plan, seed + static_cast<std::uint64_t>(k), steps, drawn.most_levels);
    if (other) note(*other);
  }
  return out;
}

}  // namespace foundling::bench
