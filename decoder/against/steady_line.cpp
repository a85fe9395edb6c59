#include <algorithm>
#include <cmath>

#include "decoder/against/counting.h"

namespace foundling::held {

std::optional<Line> steady_line(std::span<const std::int64_t> t_ns,
                                std::span<const std::uint64_t> codes) {
  constexpr std::size_t least_rows = 16;
  constexpr double least_codes = 20;
  if (codes.size() < least_rows || t_ns.size() != codes.size()) return std::nullopt;
  const auto n = static_cast<double>(codes.size());
  double mean_t = 0;
  double mean_c = 0;
  for (std::size_t i = 0; i < codes.size(); ++i) {
    mean_t += static_cast<double>(t_ns[i] - t_ns[0]) / 1e9 / n;
    mean_c += (static_cast<double>(codes[i]) - static_cast<double>(codes[0])) / n;
  }
  double tt = 0;
  double tc = 0;
  for (std::size_t i = 0; i < codes.size(); ++i) {
    const double t = static_cast<double>(t_ns[i] - t_ns[0]) / 1e9 - mean_t;
    tt += t * t;
    tc += t * (static_cast<double>(codes[i]) - static_cast<double>(codes[0]) - mean_c);
  }
  if (tt <= 0 || tc <= 0) return std::nullopt;
  Line line;
  line.per_second = tc / tt;
  const double span_s = static_cast<double>(t_ns[t_ns.size() - 1] - t_ns[0]) / 1e9;
  const double range = line.per_second * span_s;
  if (range < least_codes) return std::nullopt;
  const double usual = range / (n - 1);  // codes from frame to frame: jitter may be one of them
  const double allowed = std::max({1.5, 0.002 * range, usual});
  const auto base = static_cast<double>(codes[0]);
  for (std::size_t i = 0; i < codes.size(); ++i) {
    if (i > 0 && codes[i] < codes[i - 1]) return std::nullopt;
    const double t = static_cast<double>(t_ns[i] - t_ns[0]) / 1e9 - mean_t;
    const double expected = base + mean_c + line.per_second * t;
    if (std::abs(static_cast<double>(codes[i]) - expected) > allowed) return std::nullopt;
  }
  line.first = base;
  line.last = static_cast<double>(codes.back());
  return line;
}

}  // namespace foundling::held
