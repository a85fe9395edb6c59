#include "tests/bench/recovery/quantities.h"

#include <algorithm>
#include <cmath>

namespace foundling::recovery {

const std::vector<Switch>& switches() {
  static const std::vector<Switch> all{{"interlock", {"open", "closed"}},
                                       {"key", {"off", "on"}},
                                       {"mode", {"off", "run", "charge"}},
                                       {"charger_plug", {"out", "in"}},
                                       {"main_relay", {"open", "closed"}},
                                       {"fan", {"off", "slow", "fast"}},
                                       {"precharge_relay", {"open", "closed"}},
                                       {"service_switch", {"0", "1"}},
                                       {"gear", {"park", "ahead", "astern", "neutral"}}};
  return all;
}

const char* stem_of(Kind kind) {
  static constexpr const char* names[] = {
      "cell",         "pack_current", "temperature",      "pack_voltage", "supply_voltage",
      "insulation",   "coolant_flow", "coolant_pressure", "fan_speed",    "pump_duty",
      "coil_current", "power",        "charge",           "state"};
  return names[static_cast<std::size_t>(kind)];
}

std::string unit_of(Kind kind) {
  static constexpr const char* units[] = {"V",   "A",   "°C", "V",  "V",  "kΩ", "l/min",
                                          "kPa", "rpm", "%",  "mA", "kW", "Ah", "state"};
  return units[static_cast<std::size_t>(kind)];
}

Bounds draw_range(Kind kind, Rng& rng) {
  switch (kind) {
    case Kind::cell:
      return rng.chance(0.5) ? Bounds{rng.uniform(2.5, 2.9), rng.uniform(3.4, 3.65)}
                             : Bounds{rng.uniform(2.8, 3.3), rng.uniform(3.8, 4.2)};
    case Kind::current:
      return {-rng.uniform(40, 300), rng.uniform(40, 300)};
    case Kind::temperature:
      return {rng.uniform(-25, 5), rng.uniform(35, 80)};
    case Kind::pack_voltage:
      return {rng.uniform(60, 200), rng.uniform(250, 440)};
    case Kind::supply:
      return {rng.uniform(8, 10.5), rng.uniform(13, 16)};
    case Kind::insulation:
      return {rng.uniform(20, 200), rng.uniform(1000, 5000)};
    case Kind::flow:
      return {rng.uniform(0, 2), rng.uniform(15, 40)};
    case Kind::pressure:
      return {rng.uniform(80, 110), rng.uniform(200, 400)};
    case Kind::speed:
      return {rng.uniform(0, 500), rng.uniform(3000, 6000)};
    case Kind::duty:
      return {rng.uniform(0, 15), rng.uniform(70, 98)};
    case Kind::coil_current:
      return {rng.uniform(50, 300), rng.uniform(800, 2000)};
    case Kind::power:
    case Kind::charge:
    case Kind::state:
      break;
  }
  return {0, 1};
}

namespace {

// Several sines of unrelated periods, scaled into the range.
Track swings(Bounds range, double duration, Bounds period, int count, double spacing, Rng& rng) {
  std::vector<double> rates;
  std::vector<double> phases;
  for (int i = 0; i < count; ++i) {
    rates.push_back(6.283185307179586 / period.draw_log(rng));
    phases.push_back(rng.uniform(0, 6.283185307179586));
  }
  const double middle = (range.low + range.high) / 2;
  const double amplitude = (range.high - range.low) / 2 / std::sqrt(count) / 1.5;
  Track track;
  for (double t = 0; t <= duration; t += spacing) {
    double value = middle;
    for (std::size_t i = 0; i < rates.size(); ++i) {
      value += amplitude * std::sin(rates[i] * t + phases[i]);
    }
    track.add(t, std::clamp(value, range.low, range.high));
  }
  return track;
}

}  // namespace

Track slow_drift(Bounds range, double duration, Rng& rng) {
  Track track;
  const double width = range.high - range.low;
  double value = rng.uniform(range.low + 0.3 * width, range.high - 0.3 * width);
  double slope = rng.uniform(-0.5, 0.5) * width / duration;
  for (double t = 0; t <= duration; t += 5) {
    track.add(t, value);
    value += slope * 5 + rng.normal() * width * 0.01;
    slope += rng.normal() * 0.1 * width / duration;
    if (value < range.low || value > range.high) slope = -slope;
    value = std::clamp(value, range.low, range.high);
  }
  return track;
}

Track sine(Bounds range, double duration, Rng& rng) {
  return swings(range, duration, {20, 400}, 1, 0.5, rng);
}

Track restless(Bounds range, double duration, Rng& rng) {
  const double width = range.high - range.low;
  const Track swing = swings({range.low, range.low + width / 2}, duration, {6, 60}, 3, 0.1, rng);
  Track steps(0);
  for (double t = rng.uniform(2, 8); t < duration; t += rng.uniform(2, 15)) {
    steps.step(t, rng.uniform(0, width / 2), 0.3);
  }
  Track track;
  for (double t = 0; t <= duration; t += 0.1) track.add(t, swing.at(t) + steps.at(t));
  return track;
}

Track almost_still(double value, double wobble, double duration, Rng& rng) {
  Track track;
  double offset = 0;
  for (double t = 0; t <= duration; t += 20) {
    track.add(t, value + offset);
    offset = 0.9 * offset + rng.normal() * wobble;
  }
  return track;
}

}  // namespace foundling::recovery
