#include "decoder/analysis/curve_table.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>

namespace foundling {
namespace {

struct Piece {  // cubic Hermite between two points
  CurvePoint a;
  CurvePoint b;
  double slope_a = 0;
  double slope_b = 0;

  [[nodiscard]] double at(double raw) const {
    const double length = b.raw - a.raw;
    const double u = (raw - a.raw) / length;
    return (1 + 2 * u) * (1 - u) * (1 - u) * a.value + u * (1 - u) * (1 - u) * length * slope_a +
           u * u * (3 - 2 * u) * b.value + u * u * (u - 1) * length * slope_b;
  }
};

double chord(const CurvePoint& a, const CurvePoint& b) {
  return (b.value - a.value) / (b.raw - a.raw);
}

// Slope at `raw` of the polynomial through some points (Newton's divided differences).
double slope_through(std::span<const CurvePoint> points, double raw) {
  std::vector<double> differences;
  for (const CurvePoint& point : points) differences.push_back(point.value);
  for (std::size_t k = 1; k < points.size(); ++k) {
    for (std::size_t i = points.size() - 1; i >= k; --i) {
      differences[i] = (differences[i] - differences[i - 1]) / (points[i].raw - points[i - k].raw);
    }
  }
  double value = differences.back();
  double slope = 0;
  for (std::size_t k = points.size() - 1; k-- > 0;) {  // Horner, and its derivative
    slope = slope * (raw - points[k].raw) + value;
    value = value * (raw - points[k].raw) + differences[k];
  }
  return slope;
}

// Slopes of the cubics through the four points nearest to each, held within what keeps every piece
// monotone (F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238).
std::vector<double> slopes_of(const std::vector<CurvePoint>& points) {
  constexpr std::size_t most = 4;
  const std::size_t n = points.size();
  const std::size_t window = std::min(n, most);
  const double sign = points.back().value > points.front().value ? 1 : -1;
  std::vector<double> slopes;
  std::size_t first = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const double raw = points[i].raw;
    while (first + window < n && points[first + window].raw - raw < raw - points[first].raw) {
      ++first;
    }
    const double own = slope_through(std::span(points).subspan(first, window), raw);
    double limit = INFINITY;
    if (i > 0) limit = std::min(limit, std::abs(chord(points[i - 1], points[i])));
    if (i + 1 < n) limit = std::min(limit, std::abs(chord(points[i], points[i + 1])));
    slopes.push_back(sign * std::clamp(sign * own, 0.0, 3 * limit));
  }
  return slopes;
}

// The points between two, by halves, until every chord is close enough.
void fill(const Piece& piece, const CurvePoint& a, const CurvePoint& b, double tolerance, int depth,
          std::vector<CurvePoint>& out) {
  const double raw = (a.raw + b.raw) / 2;
  const double value = piece.at(raw);
  if (depth == 0 || std::abs(value - (a.value + b.value) / 2) <= tolerance) return;
  const CurvePoint middle{raw, value, std::numeric_limits<double>::quiet_NaN()};
  fill(piece, a, middle, tolerance, depth - 1, out);
  out.push_back(middle);
  fill(piece, middle, b, tolerance, depth - 1, out);
}

// A point beyond the end, on the end piece made longer by half at most.
CurvePoint reach(const CurvePoint& end, const CurvePoint& next, double to) {
  const double by = std::clamp((end.raw - to) / (next.raw - end.raw), 0.0, 0.5);
  return {end.raw - by * (next.raw - end.raw), end.value - by * (next.value - end.value),
          std::numeric_limits<double>::quiet_NaN()};
}

std::vector<CurvePoint> measured_points(const CurveFinding& found) {
  std::vector<CurvePoint> points;
  for (const MonotoneCurve::Node& node : found.curve.nodes()) {
    double variance = 0;  // raw units
    double nearest = std::numeric_limits<double>::infinity();
    for (const LevelPoint& level : found.candidate.calibration.levels) {
      if (std::abs(level.raw - node.raw) >= nearest) continue;
      nearest = std::abs(level.raw - node.raw);
      variance = level.raw_variance + level.x_variance;
    }
    const double slope = std::abs(found.curve.slope_at(node.x));
    points.push_back({node.raw, node.x, std::sqrt(variance) / slope});
  }
  if (points.front().raw > points.back().raw) std::reverse(points.begin(), points.end());
  return points;
}

}  // namespace

std::vector<CurvePoint> with_points_between(const std::vector<CurvePoint>& points,
                                            double tolerance) {
  constexpr int halvings = 3;
  const std::vector<double> slopes = slopes_of(points);
  std::vector<CurvePoint> out{points.front()};
  for (std::size_t i = 1; i < points.size(); ++i) {
    const Piece piece{points[i - 1], points[i], slopes[i - 1], slopes[i]};
    fill(piece, piece.a, piece.b, tolerance, halvings, out);
    out.push_back(points[i]);
  }
  return out;
}

std::vector<CurvePoint> curve_table(const Stream& stream, const CurveFinding& found) {
  constexpr double cut = 0.001;  // of the range: what a chord may cut off
  const std::vector<CurvePoint> points = measured_points(found);
  const double range = std::abs(points.back().value - points.front().value);
  std::vector<CurvePoint> table = with_points_between(points, cut * range);

  const CodedFrames frames = coded_frames(stream, found.rows.rows, found.rows.delay_ns, 20000);
  const Field& field = found.candidate.field;
  const std::vector<double> raw = coded_values(stream, frames, field.span, field.coding);
  if (raw.empty()) return table;
  const auto [least, most] = std::minmax_element(raw.begin(), raw.end());
  if (*least < table.front().raw) table.insert(table.begin(), reach(table[0], table[1], *least));
  const std::size_t last = table.size() - 1;
  if (*most > table.back().raw) table.push_back(reach(table[last], table[last - 1], *most));
  return table;
}

}  // namespace foundling
