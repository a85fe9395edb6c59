#include "decoder/bench/plan_time.h"

#include <algorithm>
#include <cmath>

namespace foundling::bench {

Standing at_rest(const Plan& plan) {
  Standing standing;
  for (const PlanChannel& channel : plan.channels) {
    if (channel.is_state()) continue;
    for (const std::string& name : members(channel)) standing[name] = channel.rest_value();
  }
  return standing;
}

double carry_out(const Plan& plan, const Step& step, Standing& standing) {
  double seconds = 0;
  for (const Setting& setting : step.settings) {
    // Channels named in one line are set in one go: one source over several cells, one lead.
    double hand = 0;
    double way = 0;
    for (const std::string& name : setting.channels) {
      const PlanChannel* channel = find_channel(plan, name);
      if (channel == nullptr) continue;
      hand = std::max(hand, channel->set_time_s.value_or(default_set_time_s));
      if (channel->is_state()) continue;
      const auto value = value_in_unit_of(*channel, setting);
      if (!value) continue;
      double& now = standing[name];
      if (channel->ramp) way = std::max(way, std::abs(*value - now) / *channel->ramp);
      now = *value;
    }
    seconds += hand + way;
  }
  return seconds;
}

double plan_seconds(const Plan& plan) {
  Standing standing = at_rest(plan);
  double seconds = 0;
  for (const Step& step : plan.steps) {
    seconds += carry_out(plan, step, standing) + plan.hold_of(step);
  }
  return seconds;
}

}  // namespace foundling::bench
