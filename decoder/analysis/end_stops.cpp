#include "decoder/analysis/end_stops.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "decoder/analysis/line_fit.h"

namespace foundling {
namespace {

constexpr std::size_t least_nodes = 5;

struct Stretch {
  LineFit line;
  double worst = 0;      // raw, of a node about the line
  double tolerance = 0;  // raw
};

Stretch fit(const std::vector<MonotoneCurve::Node>& nodes, std::size_t from, std::size_t to,
            double share) {
  std::vector<double> x;
  std::vector<double> raw;
  for (std::size_t i = from; i < to; ++i) {
    x.push_back(nodes[i].x);
    raw.push_back(nodes[i].raw);
  }
  Stretch s;
  s.line = fit_line(x, raw);
  for (std::size_t i = 0; i < x.size(); ++i) {
    s.worst = std::max(s.worst, std::abs(raw[i] - s.line.intercept - s.line.slope * x[i]));
  }
  s.tolerance = 0.5 + share * std::abs(raw.back() - raw.front());
  return s;
}

// Whether a node beyond the stretch lies clearly nearer to its middle than the line has it.
bool falls_short(const Stretch& s, const MonotoneCurve::Node& node, double middle) {
  const double expected = s.line.intercept + s.line.slope * node.x;
  const double short_by = expected > middle ? expected - node.raw : node.raw - expected;
  return short_by > 4 * s.tolerance;
}

// Whether two nodes beyond the stretch are as good as one value.
bool stands(const Stretch& s, const MonotoneCurve::Node& a, const MonotoneCurve::Node& b) {
  return std::abs(a.raw - b.raw) < 0.15 * std::abs(s.line.slope * (a.x - b.x)) + 0.5;
}

}  // namespace

std::optional<Interval> straight_stretch(const MonotoneCurve& curve, double share) {
  const auto& nodes = curve.nodes();
  const std::size_t n = nodes.size();
  if (n < least_nodes + 1) return {};
  const std::size_t least = std::max(least_nodes, (n + 1) / 2);
  for (std::size_t length = n - 1; length >= least; --length) {
    for (std::size_t from = 0; from + length <= n; ++from) {
      const std::size_t to = from + length;
      const Stretch s = fit(nodes, from, to, share);
      if (s.worst > s.tolerance) continue;
      const double middle = (nodes[from].raw + nodes[to - 1].raw) / 2;
      bool stopped = true;
      for (std::size_t i = 0; i < n; ++i) {
        if (i >= from && i < to) continue;
        stopped = stopped && falls_short(s, nodes[i], middle);
        if (i != from - 1 && i != to)
          stopped = stopped && stands(s, nodes[i], nodes[i < from ? i + 1 : i - 1]);
      }
      if (stopped) return Interval{nodes[from].x, nodes[to - 1].x};
    }
  }
  return {};
}

}  // namespace foundling
