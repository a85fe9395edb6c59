#include "decoder/analysis/lagged_rows.h"

#include <algorithm>
#include <cmath>

#include "decoder/analysis/moments.h"

namespace foundling {
namespace {

void expect_hold_rows(RowSet& set, const ChannelSeries& channel, double time_constant_s) {
  if (time_constant_s <= 0) return;
  constexpr int points = 8;
  std::vector<std::int64_t> times;
  for (const Row& row : set.rows) {
    for (int k = 0; k < points; ++k) {
      times.push_back(row.from_ns + (row.to_ns - row.from_ns) * (2 * k + 1) / (2 * points));
    }
  }
  const std::vector<double> x = lagged(channel, Lag{0, time_constant_s}, times);
  for (std::size_t i = 0; i < set.rows.size(); ++i) {
    double sum = 0;
    for (std::size_t k = 0; k < points; ++k) sum += x[i * points + k];
    if (std::isfinite(sum)) set.rows[i].x = sum / points;
  }
}

// Mean of x over the frames of each row.
void expect_sample_rows(RowSet& set, const Stream& stream, const ChannelSeries& channel,
                        const Lag& lag) {
  const auto delay_ns = static_cast<std::int64_t>(lag.delay_s * 1e9);
  const auto times = stream.bits.times();
  const std::vector<double> x = lagged(channel, lag, times);
  for (Row& row : set.rows) {
    const auto [from, to] = frames_of(stream, row, set.kind, delay_ns);
    double sum = 0;
    for (std::size_t i = from; i < to; ++i) sum += x[i];
    if (from < to && std::isfinite(sum)) row.x = sum / static_cast<double>(to - from);
  }
}

// How far the channel moved between the readings around each row; what is longer ago fades as the
// board forgets it.
void mark_unrest(RowSet& set, const ChannelSeries& channel, double memory_s) {
  const auto& readings = channel.readings;
  for (Row& row : set.rows) {
    const auto middle = static_cast<double>(row.from_ns + (row.to_ns - row.from_ns) / 2) * 1e-9;
    const auto after = std::upper_bound(
        readings.begin(), readings.end(), middle,
        [](double t, const Reading& r) { return t < static_cast<double>(r.t_ns) * 1e-9; });
    double squares = 0;
    // From the step after the row backwards until memory has faded.
    auto k = std::min<std::ptrdiff_t>(after - readings.begin() + 1,
                                      static_cast<std::ptrdiff_t>(readings.size()) - 1);
    for (; k > 0; --k) {
      const Reading& end = readings[static_cast<std::size_t>(k)];
      const Reading& begin = readings[static_cast<std::size_t>(k - 1)];
      const double age = std::max(0.0, middle - static_cast<double>(end.t_ns) * 1e-9);
      const double faded = std::exp(-age / memory_s);
      if (faded < 1e-3) break;
      const double step = (end.value - begin.value) * faded;
      if (std::isfinite(step)) squares += step * step;
    }
    row.unrest = std::sqrt(squares);
  }
}

}  // namespace

RowSet lagged_rows(const Stream& stream, const ChannelSeries& channel, const Lag& lag,
                   std::int64_t end_ns) {
  RowOptions options;
  options.skip_s = 12 * lag.time_constant_s + stream.period_s + 0.1;
  options.skip_share = 0.7;
  RowSet set = make_rows(channel, end_ns, options);
  if (set.kind == ChannelKind::hold) {
    expect_hold_rows(set, channel, lag.time_constant_s);
  } else {
    expect_sample_rows(set, stream, channel, lag);
    mark_unrest(set, channel, std::max(lag.time_constant_s, 0.25));
  }
  return set;
}

}  // namespace foundling
