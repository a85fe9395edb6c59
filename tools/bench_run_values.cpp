#include "tools/bench_run_values.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "schemas/values/number_words.h"
#include "schemas/values/unit.h"
#include "tools/exchange/stimulus_entry.h"

namespace foundling {
namespace {

using bench::Plan;
using bench::PlanChannel;
using bench::Setting;

// Source and meter are not exact: a value at the limit may be measured so much beyond it, as a
// share of the limits' width.
constexpr double beyond_limits = 0.005;

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

}  // namespace

RunValues::RunValues(const Plan& plan, MeansByChannel means, const std::vector<Channel>& in_capture)
    : plan_(plan), means_(std::move(means)) {
  for (const Channel& channel : in_capture) known_.emplace(channel.name, channel);
}

Result<void> RunValues::check(const std::string& file) const {
  for (const PlanChannel& channel : plan_.channels) {
    for (const std::string& name : bench::members(channel)) {
      const auto known = known_.find(name);
      if (known == known_.end() || unit_conversion(channel.unit, known->second.unit)) continue;
      return usage(file + ':' + std::to_string(channel.place.line) + ':' +
                   std::to_string(channel.place.column) + ": error: channel " + name + " is in " +
                   channel.unit + ", and the capture has it in " + known->second.unit);
    }
  }
  return {};
}

bool RunValues::is_recorded_already(const std::string& channel) const {
  const auto known = known_.find(channel);
  return known != known_.end() && known->second.kind == ChannelKind::sample;
}

const ChannelMeans& RunValues::means(const std::string& channel) const {
  static const ChannelMeans none;
  const auto found = means_.find(channel);
  return found == means_.end() ? none : found->second;
}

Channel RunValues::channel_of(const PlanChannel& plan, const std::string& name) const {
  const auto known = known_.find(name);
  if (known != known_.end()) return known->second;
  return {name, plan.unit, ChannelKind::hold};
}

Result<void> RunValues::check_limits(const PlanChannel& plan, const RunEntry& entry) const {
  const std::string& name = entry.channel.name;
  if (plan.is_state()) {
    const auto& words = plan.words;
    if (std::find(words.begin(), words.end(), entry.reading.state) != words.end()) return {};
    std::string all;
    for (const std::string& word : words) all += (all.empty() ? "" : ", ") + word;
    return usage(name + " has no word \"" + entry.reading.state + "\"; expected one of " + all);
  }
  const auto conversion = unit_conversion(entry.channel.unit, plan.unit);
  if (!conversion) return usage(name + " is in " + plan.unit + ", not in " + entry.channel.unit);
  const double value = conversion->value(entry.reading.value);
  const double room = beyond_limits * (plan.high - plan.low);
  if (value >= plan.low - room && value <= plan.high + room) return {};
  return usage(name + ": " + number_words(value) + ' ' + plan.unit + " lies beyond its limits, " +
               number_words(plan.low) + ".." + number_words(plan.high) + ' ' + plan.unit);
}

Result<std::vector<RunEntry>> RunValues::as_set(const Setting& setting) const {
  std::vector<RunEntry> entries;
  for (const std::string& name : setting.channels) {
    const PlanChannel* const plan = bench::find_channel(plan_, name);
    if (plan == nullptr) return usage("channel " + name + " is not in the plan");
    if (is_recorded_already(name)) continue;
    RunEntry entry{channel_of(*plan, name), {}};
    if (plan->is_state()) {
      entry.reading.state = setting.word;
    } else {
      const std::string& unit = setting.unit.empty() ? plan->unit : setting.unit;
      const auto conversion = unit_conversion(unit, entry.channel.unit);
      if (!conversion) return usage(name + " is in " + entry.channel.unit + ", not in " + unit);
      entry.reading.value = conversion->value(setting.value);
    }
    if (auto good = check_limits(*plan, entry); !good) return good.error();
    entries.push_back(std::move(entry));
  }
  return entries;
}

Result<std::vector<RunEntry>> RunValues::as_typed(const Setting& setting,
                                                  const std::string& text) const {
  std::vector<RunEntry> entries;
  for (const std::string& name : setting.channels) {
    const PlanChannel* const plan = bench::find_channel(plan_, name);
    if (plan == nullptr) return usage("channel " + name + " is not in the plan");
    TypedReading typed{name, text, {}, {}, {}};
    const ChannelMeans& how = means(name);
    // A value in the channel's own unit needs no sensor: "20 A" is 20 A.
    auto entry = stimulus_entry(typed, channel_of(*plan, name));
    if (how.sensor && !entry) {
      typed.sensor = how.sensor;
      typed.meter = how.meter;
      entry = stimulus_entry(typed, channel_of(*plan, name));
    } else if (how.meter && !how.sensor) {
      typed.meter = how.meter;
      entry = stimulus_entry(typed, channel_of(*plan, name));
    }
    if (!entry) return entry.error();
    RunEntry made{entry->channel, entry->reading};
    if (auto good = check_limits(*plan, made); !good) return good.error();
    if (!is_recorded_already(name)) entries.push_back(std::move(made));
  }
  return entries;
}

Result<std::vector<RunEntry>> RunValues::at_rest(const PlanChannel& channel) const {
  Setting rest;
  rest.channels = bench::members(channel);
  rest.value = channel.rest_value();
  rest.word = channel.rest_state();
  return as_set(rest);
}

Result<RunEntry> RunValues::as_measured(const std::string& channel, const std::string& instrument,
                                        const std::vector<Reading>& samples) const {
  const PlanChannel* const plan = bench::find_channel(plan_, channel);
  const auto source = known_.find(instrument);
  if (plan == nullptr || source == known_.end() || samples.empty()) {
    return usage("nothing measured of " + channel);
  }
  const auto count = static_cast<double>(samples.size());
  // From the first on, so that equal readings have themselves as their mean.
  double mean = samples.front().value, squares = 0, instruments = 0;
  for (const Reading& one : samples) {
    mean += (one.value - samples.front().value) / count;
    instruments += one.uncertainty / count;  // what they share does not average away
  }
  for (const Reading& one : samples) squares += (one.value - mean) * (one.value - mean);
  const double scatter = count > 1 ? std::sqrt(squares / (count - 1) / count) : 0;
  RunEntry entry{channel_of(*plan, channel), {}};
  const auto conversion = unit_conversion(source->second.unit, entry.channel.unit);
  if (!conversion) {
    return usage(instrument + " is in " + source->second.unit + ", " + channel + " in " +
                 entry.channel.unit);
  }
  entry.reading.value = conversion->value(mean);
  entry.reading.uncertainty = conversion->uncertainty(std::hypot(instruments, scatter));
  if (auto good = check_limits(*plan, entry); !good) return good.error();
  return entry;
}

std::string RunValues::electrical_words(const Setting& setting) const {
  const PlanChannel* const plan =
      setting.channels.empty() ? nullptr : bench::find_channel(plan_, setting.channels.front());
  if (plan == nullptr || plan->is_state()) return {};
  const ChannelMeans& how = means(setting.channels.front());
  const auto value = bench::value_in_unit_of(*plan, setting);
  if (!how.sensor || !value) return {};
  const auto conversion = unit_conversion(plan->unit, quantity_unit(*how.sensor));
  if (!conversion) return {};
  const auto electrical = electrical_of(*how.sensor, conversion->value(*value));
  if (!electrical) return {};
  const bool volts = electrical_unit(*how.sensor) == "V";
  char text[40];
  std::snprintf(text, sizeof text, "%.5g", *electrical * (volts ? 1000 : 1));
  return std::string(text) + (volts ? " mV" : " Ω");
}

}  // namespace foundling
