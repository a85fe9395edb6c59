#include "decoder/analysis/monotone_curve.h"

#include <algorithm>
#include <cmath>

namespace foundling {
namespace {

struct Point {
  double x;
  double raw;
  double u;
};

struct Group {
  double x = 0;  // sums
  double raw = 0;
  double n = 0;
  [[nodiscard]] double mean() const { return raw / n; }
  void join(const Group& other) {
    x += other.x;
    raw += other.raw;
    n += other.n;
  }
};

std::vector<Point> points_of(const RowSet& set, std::span<const double> raw) {
  std::vector<Point> points;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    if (std::isfinite(raw[i])) points.push_back({set.rows[i].x, raw[i], set.rows[i].u});
  }
  std::stable_sort(points.begin(), points.end(),
                   [](const Point& a, const Point& b) { return a.x < b.x; });
  return points;
}

// Levels of a channel that holds; of a moving one, stretches of its range with a few readings each.
std::vector<Group> groups_of(const std::vector<Point>& points, ChannelKind kind) {
  constexpr int most_groups = 24;
  constexpr double least_readings = 3;
  const double low = points.front().x;
  const double range = points.back().x - low;
  std::vector<Group> groups;
  double first = 0;
  for (const Point& p : points) {
    const double same =
        kind == ChannelKind::hold ? std::max(2 * p.u, 0.002 * range) : range / most_groups;
    const bool enough =
        kind == ChannelKind::hold || (!groups.empty() && groups.back().n >= least_readings);
    if (groups.empty() || (p.x - first > same && enough)) {
      groups.emplace_back();
      first = p.x;
    }
    groups.back().join({p.x, p.raw, 1});
  }
  return groups;
}

// Whether raw goes up with x on the whole.
bool rises(const std::vector<Point>& points) {
  double x = 0;
  double raw = 0;
  for (const Point& p : points) {
    x += p.x;
    raw += p.raw;
  }
  const auto n = static_cast<double>(points.size());
  double together = 0;
  for (const Point& p : points) together += (p.x - x / n) * (p.raw - raw / n);
  return together >= 0;
}

}  // namespace

MonotoneCurve::MonotoneCurve(const RowSet& set, std::span<const double> raw) {
  const std::vector<Point> points = points_of(set, raw);
  if (points.size() < 2) return;
  const bool up = rises(points);
  std::vector<Group> pooled;
  const std::vector<Group> groups = groups_of(points, set.kind);
  groups_ = groups.size();
  for (const Group& group : groups) {
    pooled.push_back(group);
    while (pooled.size() > 1) {
      const Group& last = pooled.back();
      Group& before = pooled[pooled.size() - 2];
      if (up ? before.mean() < last.mean() : before.mean() > last.mean()) break;
      before.join(last);
      pooled.pop_back();
    }
  }
  if (pooled.size() < 2) return;
  for (const Group& group : pooled) nodes_.push_back({group.x / group.n, group.mean()});
}

std::size_t MonotoneCurve::piece_at(double x) const {
  const auto above = std::upper_bound(nodes_.begin() + 1, nodes_.end() - 1, x,
                                      [](double v, const Node& node) { return v < node.x; });
  return static_cast<std::size_t>(above - nodes_.begin()) - 1;
}

double MonotoneCurve::slope_at(double x) const {
  const std::size_t i = piece_at(x);
  return (nodes_[i + 1].raw - nodes_[i].raw) / (nodes_[i + 1].x - nodes_[i].x);
}

double MonotoneCurve::raw_at(double x) const {
  const Node& node = nodes_[piece_at(x)];
  return node.raw + (x - node.x) * slope_at(x);
}

double MonotoneCurve::x_at(double raw) const {
  const bool up = nodes_.back().raw > nodes_.front().raw;
  std::size_t i = 0;
  while (i + 2 < nodes_.size() && (up ? nodes_[i + 1].raw <= raw : nodes_[i + 1].raw >= raw)) ++i;
  const Node& a = nodes_[i];
  const Node& b = nodes_[i + 1];
  return a.x + (raw - a.raw) / (b.raw - a.raw) * (b.x - a.x);
}

}  // namespace foundling
