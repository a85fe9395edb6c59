#include "decoder/analysis/rows.h"

#include <algorithm>
#include <cmath>

namespace foundling {
namespace {

struct Plateau {
  std::int64_t from_ns;
  std::int64_t to_ns;
  double x;
  double u;
};

double stated(double uncertainty) { return std::isfinite(uncertainty) ? uncertainty : 0; }

// Stretches between changes of value. A value that is merely repeated goes on; one that is not
// known ends the stretch before it.
std::vector<Plateau> plateaus_of(const ChannelSeries& channel, std::int64_t end_ns) {
  std::vector<Plateau> plateaus;
  bool open = false;
  for (const Reading& reading : channel.readings) {
    const bool known = std::isfinite(reading.value);
    if (open && known && plateaus.back().x == reading.value) continue;
    if (open) plateaus.back().to_ns = reading.t_ns;
    open = known;
    if (!known) continue;
    plateaus.push_back({reading.t_ns, end_ns, reading.value, stated(reading.uncertainty)});
  }
  std::erase_if(plateaus, [](const Plateau& p) { return p.to_ns <= p.from_ns; });
  return plateaus;
}

std::int64_t median(std::vector<std::int64_t> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

void add_hold_rows(RowSet& set, const std::vector<Plateau>& plateaus, const RowOptions& options) {
  std::vector<std::int64_t> lengths;
  std::int64_t total = 0;
  for (const Plateau& p : plateaus) {
    lengths.push_back(p.to_ns - p.from_ns);
    total += lengths.back();
  }
  // A row is as long as a typical plateau, longer where that would make too many of them.
  const std::int64_t row_ns = std::max(
      {median(lengths), total / static_cast<std::int64_t>(options.most_rows), std::int64_t{1}});
  set.plateau_s = static_cast<double>(median(lengths)) * 1e-9;
  set.plateaus = static_cast<int>(plateaus.size());
  for (std::size_t i = 0; i < plateaus.size(); ++i) {
    const Plateau& p = plateaus[i];
    const std::int64_t length = p.to_ns - p.from_ns;
    const auto skip =
        std::min(static_cast<std::int64_t>(options.skip_s * 1e9),
                 static_cast<std::int64_t>(options.skip_share * static_cast<double>(length)));
    const auto tail =
        std::min(static_cast<std::int64_t>(options.tail_s * 1e9),
                 static_cast<std::int64_t>(options.tail_share * static_cast<double>(length)));
    const std::int64_t pieces = std::max<std::int64_t>(1, (length + row_ns / 2) / row_ns);
    const std::int64_t step = (length - skip - tail) / pieces;
    for (std::int64_t k = 0; k < pieces; ++k) {
      const std::int64_t from = p.from_ns + skip + k * step;
      set.rows.push_back({from, from + step, p.x, p.u, 0, static_cast<int>(i)});
    }
  }
}

void add_sample_rows(RowSet& set, const ChannelSeries& channel, const RowOptions& options) {
  std::vector<std::int64_t> steps;
  for (std::size_t i = 0; i + 1 < channel.readings.size(); ++i) {
    steps.push_back(channel.readings[i + 1].t_ns - channel.readings[i].t_ns);
  }
  const std::int64_t interval = std::max<std::int64_t>(median(steps), 1);
  set.plateau_s = static_cast<double>(interval) * 1e-9;
  const std::size_t stride = channel.readings.size() / options.most_rows + 1;
  for (std::size_t i = 0; i < channel.readings.size(); i += stride) {
    const Reading& r = channel.readings[i];
    if (!std::isfinite(r.value)) continue;
    set.rows.push_back({r.t_ns - interval / 2, r.t_ns + interval / 2, r.value,
                        stated(r.uncertainty), 0, set.plateaus++});
  }
}

}  // namespace

int count_levels(const ChannelSeries& channel) {
  std::vector<std::pair<double, double>> values;
  for (const Reading& r : channel.readings) {
    if (std::isfinite(r.value)) values.emplace_back(r.value, stated(r.uncertainty));
  }
  std::sort(values.begin(), values.end());
  int levels = 0;
  double last = 0;
  for (const auto& [x, u] : values) {
    if (levels == 0 || x - last > 2 * u) {
      ++levels;
      last = x;
    }
  }
  return levels;
}

RowSet make_rows(const ChannelSeries& channel, std::int64_t end_ns, const RowOptions& options) {
  RowSet set;
  set.kind = channel.channel.kind;
  set.levels = count_levels(channel);
  if (set.kind == ChannelKind::hold) {
    add_hold_rows(set, plateaus_of(channel, end_ns), options);
  } else {
    add_sample_rows(set, channel, options);
  }
  return set;
}

}  // namespace foundling
