#include "decoder/analysis/calibration.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <numeric>

namespace foundling {
namespace {

// Variance of the rounding error that is left in a long mean, the noise being `noise` LSB: a quiet
// field keeps it all, a noisy one dithers it away (first harmonic of the sawtooth).
double rounding_variance(double noise) {
  const double pi = std::numbers::pi;
  const double dithered = std::exp(-4 * pi * pi * noise * noise) / (2 * pi * pi);
  return noise < 0.1 ? 1.0 / 12 : std::min(1.0 / 12, dithered * 1.65);
}

struct Plateau {
  double raw = 0;
  double x = 0;
  double u = 0;
  double frames = 0;
};

std::vector<Plateau> plateaus_of(const RowSet& set, std::span<const double> raw,
                                 std::span<const std::size_t> frames_a_row) {
  std::map<int, Plateau> by_number;
  for (std::size_t i = 0; i < set.rows.size(); ++i) {
    if (!std::isfinite(raw[i])) continue;
    Plateau& p = by_number[set.rows[i].plateau];
    const auto n = static_cast<double>(frames_a_row[i]);
    p.raw += raw[i] * n;
    p.frames += n;
    p.x = set.rows[i].x;
    p.u = set.rows[i].u;
  }
  std::vector<Plateau> plateaus;
  for (auto& [number, p] : by_number) {
    p.raw /= p.frames;
    plateaus.push_back(p);
  }
  std::sort(plateaus.begin(), plateaus.end(),
            [](const Plateau& a, const Plateau& b) { return a.x < b.x; });
  return plateaus;
}

// Plateaus at the same level share their rounding error: they are one point.
std::vector<LevelPoint> levels_of(const std::vector<Plateau>& plateaus, double noise, double near,
                                  double step) {
  std::vector<LevelPoint> levels;
  std::size_t i = 0;
  while (i < plateaus.size()) {
    std::size_t end = i + 1;
    while (end < plateaus.size() && plateaus[end].x - plateaus[i].x <= near) ++end;
    LevelPoint level;
    double frames = 0;
    const auto n = static_cast<double>(end - i);
    for (std::size_t k = i; k < end; ++k) {
      level.raw += plateaus[k].raw / n;
      level.x += plateaus[k].x / n;
      level.x_variance += plateaus[k].u * plateaus[k].u / (n * n);
      frames += plateaus[k].frames;
    }
    level.raw_variance = step * step * rounding_variance(noise) + noise * noise / frames;
    level.plateaus = static_cast<int>(end - i);
    levels.push_back(level);
    i = end;
  }
  return levels;
}

// Successive errors of a sampled channel are not independent: the share of readings that count
// (Bartlett's formula with the first autocorrelation; Pyper & Peterman 1998).
double independent_share(std::span<const double> residuals_in_time) {
  double square = 0;
  double product = 0;
  for (std::size_t i = 0; i < residuals_in_time.size(); ++i) {
    square += residuals_in_time[i] * residuals_in_time[i];
    if (i > 0) product += residuals_in_time[i] * residuals_in_time[i - 1];
  }
  if (square <= 0) return 1;
  const double r = std::clamp(product / square, 0.0, 0.98);
  return (1 - r) / (1 + r);
}

}  // namespace

namespace {

// Points for York's line, `extra` being the variance (raw, LSB squared) that the stated errors do
// not account for.
std::vector<Point> points_of(const std::vector<LevelPoint>& levels, double extra) {
  std::vector<Point> points;
  for (const LevelPoint& level : levels) {
    if (level.outlier) continue;
    const double sx = std::sqrt(std::max(level.raw_variance, 1e-12) + extra);
    points.push_back({level.raw, level.x, sx, std::sqrt(level.x_variance)});
  }
  return points;
}

// The line, with the least extra variance that makes the levels scatter as their errors say
// (R. C. Paule, J. Mandel, J. Res. NBS 87 (1982) 377): so no level counts for more than it knows.
LineFit fit_levels(const std::vector<LevelPoint>& levels) {
  LineFit fit = fit_york(points_of(levels, 0));
  if (fit.reduced_chi2 <= 1 || levels.size() < 3) return fit;
  double low = 0;
  double high = 1e-6;
  while (fit_york(points_of(levels, high)).reduced_chi2 > 1 && high < 1e12) high *= 8;
  for (int round = 0; round < 40; ++round) {
    const double middle = (low + high) / 2;
    fit = fit_york(points_of(levels, middle));
    (fit.reduced_chi2 > 1 ? low : high) = middle;
  }
  return fit;
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// How far each level is off the line through most of them (H. Theil 1950, P. K. Sen 1968: the
// median of all slopes), in raw units. A saturated end does not turn that line.
std::vector<double> distances(const std::vector<LevelPoint>& levels) {
  std::vector<double> slopes;
  for (std::size_t i = 0; i < levels.size(); ++i) {
    for (std::size_t k = i + 1; k < levels.size(); ++k) {
      if (levels[k].x != levels[i].x) {
        slopes.push_back((levels[k].raw - levels[i].raw) / (levels[k].x - levels[i].x));
      }
    }
  }
  const double slope = median(slopes);
  std::vector<double> off;
  off.reserve(levels.size());
  for (const LevelPoint& level : levels) off.push_back(level.raw - slope * level.x);
  const double middle = median(off);
  for (double& value : off) value = std::abs(value - middle);
  return off;
}

// Levels far off the others' line: a reserved code, a level that was not what its reading says, a
// saturated end. At most a sixth of them, two fifths where all lie at an end of the raw range; and
// never what rounding alone could do.
void mark_outliers(std::vector<LevelPoint>& levels, double step) {
  const std::vector<double> off = distances(levels);
  const double limit = std::max(6 * median(off) / 0.6745, 2 * step);
  const auto [low, high] =
      std::minmax_element(levels.begin(), levels.end(),
                          [](const LevelPoint& a, const LevelPoint& b) { return a.raw < b.raw; });
  std::size_t far = 0;
  std::size_t at_end = 0;
  for (std::size_t i = 0; i < levels.size(); ++i) {
    if (off[i] <= limit) continue;
    ++far;
    const double near = std::max(step, 1e-3 * (high->raw - low->raw));
    if (levels[i].raw - low->raw <= near || high->raw - levels[i].raw <= near) ++at_end;
  }
  const bool few = far * 6 <= levels.size();
  const bool saturated = far == at_end && far * 5 <= levels.size() * 2;
  if (far == 0 || levels.size() - far < 3 || !(few || saturated)) return;
  for (std::size_t i = 0; i < levels.size(); ++i) levels[i].outlier = off[i] > limit;
}

}  // namespace

Calibration calibrate(const RowSet& set, std::span<const double> raw, double noise,
                      std::span<const std::size_t> frames_a_row, double step) {
  Calibration out;
  out.noise = noise;
  const std::vector<Plateau> plateaus = plateaus_of(set, raw, frames_a_row);
  if (plateaus.size() < 2) return out;
  std::vector<double> xs;
  std::vector<double> raws;
  for (const Plateau& p : plateaus) {
    xs.push_back(p.x);
    raws.push_back(p.raw);
  }
  const double lsb =
      step > 0 ? std::abs(fit_line(raws, xs).slope) : 5e-4 * (xs.back() - xs.front());
  out.levels = levels_of(plateaus, noise, set.kind == ChannelKind::sample ? -1 : 0.2 * lsb, step);
  if (out.levels.size() < 3) return out;
  if (set.kind == ChannelKind::hold) mark_outliers(out.levels, step);
  out.line = fit_levels(out.levels);

  const double scale = out.line.slope;
  const double range = xs.back() - xs.front();
  double squares = 0;
  double chi2 = 0;
  double n = 0;
  for (const LevelPoint& level : out.levels) {
    if (level.outlier) continue;
    const double r = level.x - out.line.intercept - scale * level.raw;
    squares += r * r;
    chi2 += r * r /
            (scale * scale * std::max(level.raw_variance, 0.02 * step) + level.x_variance +
             1e-6 * range * range);
    n += 1;
  }
  out.residual_rms = std::sqrt(squares / n);
  out.misfit = chi2 / std::max(1.0, n - 2);

  double share = 1;
  if (set.kind == ChannelKind::sample) {
    std::vector<double> residuals;
    for (std::size_t i = 0; i < set.rows.size(); ++i) {
      if (std::isfinite(raw[i])) {
        residuals.push_back(set.rows[i].x - out.line.intercept - scale * raw[i]);
      }
    }
    share = independent_share(residuals);
  }
  const double independent = std::max(1.0, share * n - 2);
  const double widen = student_t(0.95, independent) * std::sqrt(out.line.reduced_chi2 / share);
  const double d_scale = widen * out.line.slope_se;
  const double d_offset = widen * out.line.intercept_se;
  out.scale = {scale - d_scale, scale + d_scale};
  out.offset = {out.line.intercept - d_offset, out.line.intercept + d_offset};
  return out;
}

double noise_within_rows(std::span<const double> values, std::span<const int> row_of_value) {
  std::vector<double> squares;
  double freedom = 0;
  for (std::size_t i = 0; i < values.size();) {
    std::size_t end = i;
    double sum = 0;
    for (; end < values.size() && row_of_value[end] == row_of_value[i]; ++end) sum += values[end];
    const auto n = static_cast<double>(end - i);
    for (std::size_t k = i; k < end; ++k) {
      squares.push_back((values[k] - sum / n) * (values[k] - sum / n));
    }
    freedom += n - 1;
    i = end;
  }
  if (freedom < 1) return 0;
  // The largest fiftieth is left out, as a change caught late; of a normal variable's square, 0.89
  // of the sum lies below its 98 % point.
  std::sort(squares.begin(), squares.end());
  const auto kept = static_cast<std::ptrdiff_t>(squares.size() - squares.size() / 50);
  const double share = squares.size() >= 50 ? 0.89 : 1;
  return std::sqrt(std::accumulate(squares.begin(), squares.begin() + kept, 0.0) /
                   (share * freedom));
}

}  // namespace foundling
