#include "decoder/analysis/substitutes.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "decoder/analysis/coding.h"
#include "decoder/analysis/delay.h"
#include "decoder/analysis/observation_priors.h"

namespace foundling {
namespace {

// Which frames are far off, each by what it should show.
struct Suspicion {
  std::vector<std::uint64_t> raw;
  std::vector<bool> off;
};

bool is_extreme(std::uint64_t raw, int width) {
  const std::uint64_t ones = width >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1;
  return raw == 0 || raw == ones;
}

// Codes that are said where all is well are values.
std::vector<std::uint64_t> values_of(const Suspicion& s) {
  std::vector<std::uint64_t> good;
  for (std::size_t i = 0; i < s.raw.size(); ++i) {
    if (!s.off[i]) good.push_back(s.raw[i]);
  }
  std::sort(good.begin(), good.end());
  good.erase(std::unique(good.begin(), good.end()), good.end());
  return good;
}

bool after_a_pause(const Stream& stream, std::size_t frame) {
  if (frame == 0) return true;
  const auto t = stream.bits.times();
  const double gap = static_cast<double>(t[frame] - t[frame - 1]) * 1e-9;
  return gap > std::max(4 * stream.period_s, least_pause_s);
}

// Runs of suspicious frames that say one code; a good frame within a run ends it.
std::vector<Substitute> runs_of(const Stream& stream, const Suspicion& s, int width) {
  std::vector<Substitute> out;
  const auto t = stream.bits.times();
  const std::vector<std::uint64_t> good = values_of(s);
  for (std::size_t i = 0; i < s.raw.size();) {
    if (!s.off[i]) {
      ++i;
      continue;
    }
    std::size_t end = i;
    while (end < s.raw.size() && s.off[end] && s.raw[end] == s.raw[i]) ++end;
    const bool start = after_a_pause(stream, i);
    const double lasted_s = static_cast<double>(t[end - 1] - t[i]) * 1e-9;
    const bool a_value = std::binary_search(good.begin(), good.end(), s.raw[i]);
    const bool enough = is_extreme(s.raw[i], width) || start
                            ? end - i >= 1
                            : end - i >= least_repeats && lasted_s >= least_substitute_s;
    if (enough) out.push_back({t[i], t[end - 1], s.raw[i], start && !a_value});
    i = end;
  }
  return out;
}

}  // namespace

std::vector<Substitute> substitutes_among(const Stream& stream, const RoughField& field,
                                          const RoughLine& line, const std::vector<Shown>& shown) {
  const auto t = stream.bits.times();
  const int width = field.span.width();
  Suspicion s{stream.bits.raw(field.span), std::vector<bool>(t.size(), false)};
  const double near = std::max(far_frame * line.sd, 3.0);
  std::size_t k = 0;
  for (std::size_t i = 0; i < t.size(); ++i) {
    while (k + 1 < shown.size() && t[i] >= shown[k + 1].from_ns) ++k;
    if (shown.empty()) continue;
    const double off = number_of(s.raw[i], width, field.coding) - shown[k].expected;
    // What is left of the way from the level before, by a board's slowest low-pass.
    const double since = static_cast<double>(t[i] - shown[k].from_ns) * 1e-9;
    const double before = k > 0 ? shown[k - 1].expected - shown[k].expected : 0;
    const double way = before * std::exp(-since / slowest_s);
    const bool on_the_way = off * before > 0 && std::abs(off) <= std::abs(way) + near;
    s.off[i] = std::abs(off) > near && !on_the_way;
    // And the step itself may come some frames before or after.
    if (since < least_pause_s && k > 0 && std::abs(off - before) <= near) s.off[i] = false;
    if (k + 1 < shown.size() &&
        static_cast<double>(shown[k + 1].from_ns - t[i]) * 1e-9 < least_pause_s &&
        std::abs(off + shown[k].expected - shown[k + 1].expected) <= near) {
      s.off[i] = false;
    }
  }
  return runs_of(stream, s, width);
}

std::vector<Substitute> substitutes_of_moving(const Stream& stream, const ChannelSeries& channel,
                                              const RoughField& field) {
  const auto t = stream.bits.times();
  const int width = field.span.width();
  Suspicion s{stream.bits.raw(field.span), std::vector<bool>(t.size(), false)};
  const std::vector<double> x =
      lagged(channel, Lag{static_cast<double>(field.delay_ns) * 1e-9, 0, 0, 0}, t);
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const double v : x) {
    if (!std::isfinite(v)) continue;
    low = std::min(low, v);
    high = std::max(high, v);
  }
  const double range = std::abs(field.line.slope) * (high - low);
  const double near = std::max(far_frame * field.line.sd, moving_share * range);
  for (std::size_t i = 0; i < t.size(); ++i) {
    if (!std::isfinite(x[i])) continue;
    const double off =
        number_of(s.raw[i], width, field.coding) - field.line.intercept - field.line.slope * x[i];
    s.off[i] = std::abs(off) > near;
  }
  return runs_of(stream, s, width);
}

}  // namespace foundling
