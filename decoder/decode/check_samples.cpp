#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include "decoder/decode/check_pairs.h"
#include "schemas/values/nanoseconds.h"

namespace foundling {
namespace {

// The signal at a time between its values; nothing outside, or across a hole of many periods.
std::optional<double> at_time(const Track& track, std::int64_t t_ns, std::int64_t widest_ns) {
  const auto next = std::lower_bound(track.t_ns.begin(), track.t_ns.end(), t_ns);
  if (next == track.t_ns.end()) return {};
  const auto i = static_cast<std::size_t>(next - track.t_ns.begin());
  if (track.t_ns[i] == t_ns) return track.number[i];
  if (i == 0 || track.t_ns[i] - track.t_ns[i - 1] > widest_ns) return {};
  const double share = static_cast<double>(t_ns - track.t_ns[i - 1]) /
                       static_cast<double>(track.t_ns[i] - track.t_ns[i - 1]);
  return track.number[i - 1] + share * (track.number[i] - track.number[i - 1]);
}

Pairs pairs_at(const Track& track, const ChannelSeries& channel, double delay_s, double period) {
  Pairs pairs;
  pairs.delay_s = delay_s;
  pairs.possible = channel.readings.size();
  const auto delay = nanoseconds_of(delay_s);
  const auto widest = nanoseconds_of(5 * period) + 1;
  for (const Reading& reading : channel.readings) {
    const auto value = at_time(track, reading.t_ns + delay, widest);
    if (!value) continue;
    pairs.t_ns.push_back(reading.t_ns);
    pairs.reading.push_back(reading.id);
    pairs.bench.push_back(reading.value);
    pairs.signal.push_back(*value);
    pairs.uncertainty.push_back(std::isfinite(reading.uncertainty) ? reading.uncertainty : 0);
  }
  return pairs;
}

// What a straight line through the pairs leaves, so that a gain error does not move the delay.
double residual(const Pairs& pairs) {
  if (pairs.bench.size() < 3) return std::numeric_limits<double>::infinity();
  const double gain = slope(pairs.bench, pairs.signal);
  if (!std::isfinite(gain)) return std::numeric_limits<double>::infinity();
  std::vector<double> rest;
  double mean = 0;
  for (std::size_t i = 0; i < pairs.bench.size(); ++i) {
    rest.push_back(pairs.signal[i] - gain * pairs.bench[i]);
    mean += rest.back();
  }
  mean /= static_cast<double>(rest.size());
  double sum = 0;
  for (const double r : rest) sum += (r - mean) * (r - mean);
  return sum / static_cast<double>(rest.size());
}

}  // namespace

// Delays from -0.5 s to +5 s: a coarse grid, then ever finer around the best.
Pairs pair_samples(const SignalEntry& entry, const Track& track, const ChannelSeries& channel) {
  const double period = period_s(track);
  const double recorded = entry.delay_s + entry.time_constant_s;
  Pairs best = pairs_at(track, channel, recorded, period);
  double least = residual(best);
  if (!std::isfinite(least)) return best;
  const std::size_t most = best.bench.size();
  double low = -0.5;
  double high = 5;
  for (double step = 0.05; step >= 0.0004; step /= 5) {
    const double from = low;
    const double to = high;
    for (double delay = from; delay <= to + step / 2; delay += step) {
      Pairs pairs = pairs_at(track, channel, delay, period);
      if (pairs.bench.size() < most * 9 / 10) continue;  // not by leaving readings out
      const double rest = residual(pairs);
      if (rest < least) {
        least = rest;
        best = std::move(pairs);
      }
    }
    low = best.delay_s - step;
    high = best.delay_s + step;
  }
  return best;
}

}  // namespace foundling
