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

// How much nearer to the stretch's middle a node beyond it lies than the line has it; raw.
double short_by(const Stretch& s, const MonotoneCurve::Node& node, double middle) {
  const double expected = s.line.intercept + s.line.slope * node.x;
  return expected > middle ? expected - node.raw : node.raw - expected;
}

// Whether two nodes beyond the stretch are as good as one value.
bool stands(const Stretch& s, const MonotoneCurve::Node& a, const MonotoneCurve::Node& b) {
  return std::abs(a.raw - b.raw) < 0.15 * std::abs(s.line.slope * (a.x - b.x)) + 0.5;
}

// Whether the nodes beyond one end of the stretch, outwards from it, stand still clearly short of
// the line. The first of them may lie across the knee, and so a little short of it.
bool stops(const Stretch& s, const std::vector<MonotoneCurve::Node>& beyond, double middle) {
  if (beyond.empty()) return true;
  const auto falls_short = [&](const MonotoneCurve::Node& node) {
    return short_by(s, node, middle) > 4 * s.tolerance;
  };
  std::size_t first = 0;
  if (!falls_short(beyond[0]) && short_by(s, beyond[0], middle) > -s.tolerance) first = 1;
  if (first == beyond.size()) return false;
  for (std::size_t i = first; i < beyond.size(); ++i) {
    if (!falls_short(beyond[i])) return false;
    if (i > first && !stands(s, beyond[i], beyond[i - 1])) return false;
  }
  return true;
}

}  // namespace

std::optional<Interval> straight_stretch(const MonotoneCurve& curve, double share) {
  const auto& nodes = curve.nodes();
  const std::size_t n = nodes.size();
  if (n < least_nodes + 1) return {};
  const std::size_t least = std::max(least_nodes, (n + 1) / 2);
  const auto index = [](std::size_t i) { return static_cast<std::ptrdiff_t>(i); };
  for (std::size_t length = n - 1; length >= least; --length) {
    for (std::size_t from = 0; from + length <= n; ++from) {
      const std::size_t to = from + length;
      const Stretch s = fit(nodes, from, to, share);
      if (s.worst > s.tolerance) continue;
      const double middle = (nodes[from].raw + nodes[to - 1].raw) / 2;
      const std::vector<MonotoneCurve::Node> above(nodes.begin() + index(to), nodes.end());
      const std::vector<MonotoneCurve::Node> below(nodes.rend() - index(from), nodes.rend());
      if (stops(s, below, middle) && stops(s, above, middle)) {
        return Interval{nodes[from].x, nodes[to - 1].x};
      }
    }
  }
  return {};
}

}  // namespace foundling
