#include "decoder/decode/track.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace foundling {

std::vector<Plateau> plateaus(const ChannelSeries& channel, std::int64_t end_ns) {
  std::vector<Plateau> all;
  for (const Reading& reading : channel.readings) {
    const double uncertainty = std::isfinite(reading.uncertainty) ? reading.uncertainty : 0;
    const bool same = !all.empty() && all.back().state == reading.state &&
                      (channel.channel.is_state() || all.back().value == reading.value);
    if (same) continue;
    if (!all.empty()) all.back().to_ns = reading.t_ns;
    all.push_back({reading.t_ns, reading.t_ns, reading.value, uncertainty, reading.state,
                   reading.earliest_ns, reading.id});
  }
  if (!all.empty()) all.back().to_ns = std::max(all.back().from_ns, end_ns);
  return all;
}

Rows rows_between(const Track& track, std::int64_t from_ns, std::int64_t to_ns) {
  const auto begin = track.t_ns.begin();
  const auto first = std::lower_bound(begin, track.t_ns.end(), from_ns);
  const auto last = std::lower_bound(first, track.t_ns.end(), to_ns);
  return {static_cast<std::size_t>(first - begin), static_cast<std::size_t>(last - begin)};
}

double median(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double middle_mean(std::span<const double> values) {
  std::vector<double> sorted(values.begin(), values.end());
  std::ranges::sort(sorted);
  const std::size_t cut = sorted.size() / 4;
  const auto first = sorted.begin() + static_cast<std::ptrdiff_t>(cut);
  const auto last = sorted.end() - static_cast<std::ptrdiff_t>(cut);
  return std::accumulate(first, last, 0.0) / static_cast<double>(last - first);
}

double period_s(const Track& track) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < track.t_ns.size(); ++i) {
    steps.push_back(static_cast<double>(track.t_ns[i] - track.t_ns[i - 1]) / 1e9);
  }
  return median(std::move(steps));
}

double slope(std::span<const double> x, std::span<const double> y) {
  const auto n = static_cast<double>(x.size());
  const double mean_x = std::accumulate(x.begin(), x.end(), 0.0) / n;
  const double mean_y = std::accumulate(y.begin(), y.end(), 0.0) / n;
  double sxx = 0;
  double sxy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    sxx += (x[i] - mean_x) * (x[i] - mean_x);
    sxy += (x[i] - mean_x) * (y[i] - mean_y);
  }
  return sxx > 0 ? sxy / sxx : std::numeric_limits<double>::quiet_NaN();
}

}  // namespace foundling
