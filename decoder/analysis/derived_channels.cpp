#include "decoder/analysis/derived_channels.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <string>

namespace foundling {
namespace {

using Members = std::vector<const ChannelSeries*>;

// cell_03 -> cell; nothing for a name without a trailing number.
std::optional<std::string> stem_of(const std::string& name) {
  std::size_t end = name.size();
  while (end > 0 && name[end - 1] >= '0' && name[end - 1] <= '9') --end;
  if (end == name.size() || end == 0) return {};
  std::string stem = name.substr(0, end);
  while (!stem.empty() && (stem.back() == '_' || stem.back() == '-')) stem.pop_back();
  return stem.empty() ? std::optional<std::string>{} : stem;
}

// The value that holds at t; nothing before the first reading.
std::optional<double> held(const ChannelSeries& channel, std::int64_t t_ns) {
  const auto after = std::upper_bound(channel.readings.begin(), channel.readings.end(), t_ns,
                                      [](std::int64_t t, const Reading& r) { return t < r.t_ns; });
  if (after == channel.readings.begin()) return {};
  return std::prev(after)->value;
}

std::vector<std::int64_t> change_times(const Members& members) {
  std::set<std::int64_t> times;
  for (const ChannelSeries* m : members) {
    for (const Reading& r : m->readings) times.insert(r.t_ns);
  }
  return {times.begin(), times.end()};
}

template <typename Combine>
ChannelSeries combine(const Members& members, std::string name, std::string unit, Combine how) {
  ChannelSeries out{{std::move(name), std::move(unit), ChannelKind::hold}, {}};
  for (const std::int64_t t : change_times(members)) {
    std::vector<double> values;
    for (const ChannelSeries* m : members) {
      if (const auto value = held(*m, t)) values.push_back(*value);
    }
    if (values.size() != members.size()) continue;
    Reading reading;
    reading.t_ns = t;
    reading.value = how(values);
    out.readings.push_back(reading);
  }
  return out;
}

void add_set(std::vector<ChannelSeries>& out, const std::string& stem, const Members& members) {
  const std::string unit = members.front()->channel.unit;
  const auto sum = [](const std::vector<double>& v) {
    double total = 0;
    for (const double x : v) total += x;
    return total;
  };
  const auto least = [](const std::vector<double>& v) {
    return *std::min_element(v.begin(), v.end());
  };
  const auto most = [](const std::vector<double>& v) {
    return *std::max_element(v.begin(), v.end());
  };
  out.push_back(combine(members, stem + "_sum", unit, sum));
  out.push_back(combine(members, stem + "_min", unit, least));
  out.push_back(combine(members, stem + "_max", unit, most));
  out.push_back(combine(members, stem + "_spread", unit,
                        [&](const std::vector<double>& v) { return most(v) - least(v); }));
}

// Between changes: every two seconds, and no more than so many in all. A session of nine hours is
// sampled every two seconds; of a longer one the samples lie farther apart.
constexpr std::int64_t shortest_step_ns = 2'000'000'000;
constexpr std::int64_t most_steps = 16'384;

std::int64_t charge_step(const ChannelSeries& current, std::int64_t end_ns) {
  const auto length =
      static_cast<double>(end_ns) - static_cast<double>(current.readings.front().t_ns);
  return std::max(shortest_step_ns, static_cast<std::int64_t>(length / most_steps));
}

// Ampere-hours since the first reading, at every change and in steps between.
ChannelSeries charge_of(const ChannelSeries& current, std::int64_t end_ns) {
  ChannelSeries out{{current.channel.name + "_charge", "Ah", ChannelKind::sample}, {}};
  double charge = 0;
  const std::int64_t step = charge_step(current, end_ns);
  for (std::size_t i = 0; i < current.readings.size(); ++i) {
    const Reading& r = current.readings[i];
    const std::int64_t until =
        i + 1 < current.readings.size() ? current.readings[i + 1].t_ns : end_ns;
    // The next step may lie beyond what a time can be.
    bool on = r.t_ns < until;
    for (std::int64_t t = r.t_ns; on; on = !__builtin_add_overflow(t, step, &t) && t < until) {
      Reading reading;
      reading.t_ns = t;
      reading.value = charge + r.value * static_cast<double>(t - r.t_ns) * 1e-9 / 3600;
      out.readings.push_back(reading);
    }
    charge += r.value * static_cast<double>(until - r.t_ns) * 1e-9 / 3600;
  }
  return out;
}

}  // namespace

std::vector<ChannelSeries> derive_channels(std::span<const ChannelSeries> channels,
                                           std::int64_t end_ns) {
  std::vector<ChannelSeries> out;
  std::map<std::pair<std::string, std::string>, Members> sets;
  Members voltages;
  Members currents;
  for (const ChannelSeries& c : channels) {
    const bool held_number =
        !c.channel.is_state() && c.channel.kind == ChannelKind::hold && !c.readings.empty();
    if (!held_number) continue;
    if (const auto stem = stem_of(c.channel.name)) {
      sets[{*stem, c.channel.unit}].push_back(&c);
    } else if (c.channel.unit == "V") {
      voltages.push_back(&c);
    } else if (c.channel.unit == "A") {
      currents.push_back(&c);
    }
  }
  for (const auto& [key, members] : sets) {
    if (members.size() >= 4) add_set(out, key.first, members);
  }
  for (const ChannelSeries* current : currents) {
    out.push_back(charge_of(*current, end_ns));
    for (const ChannelSeries* voltage : voltages) {
      const Members both{voltage, current};
      out.push_back(combine(both, voltage->channel.name + "_times_" + current->channel.name, "W",
                            [](const std::vector<double>& v) { return v[0] * v[1]; }));
    }
  }
  return out;
}

}  // namespace foundling
