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
std::vector<LevelPoint> levels_of(const std::vector<Plateau>& plateaus, double noise, double lsb,
                                  ChannelKind kind) {
  std::vector<LevelPoint> levels;
  std::size_t i = 0;
  while (i < plateaus.size()) {
    std::size_t end = i + 1;
    const double near = kind == ChannelKind::sample ? -1 : 0.2 * std::abs(lsb);
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
    level.raw_variance = rounding_variance(noise) + noise * noise / frames;
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

Calibration calibrate(const RowSet& set, std::span<const double> raw, double noise,
                      std::span<const std::size_t> frames_a_row) {
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
  const double lsb = fit_line(raws, xs).slope;
  out.levels = levels_of(plateaus, noise, lsb, set.kind);
  if (out.levels.size() < 2) return out;

  std::vector<Point> points;
  for (const LevelPoint& level : out.levels) {
    const double sx = std::sqrt(std::max(level.raw_variance, 1e-6));
    points.push_back({level.raw, level.x, sx, std::sqrt(level.x_variance)});
  }
  out.line = fit_york(points);
  const double scale = out.line.slope;
  const double range = xs.back() - xs.front();
  double squares = 0;
  double chi2 = 0;
  for (const LevelPoint& level : out.levels) {
    const double r = level.x - out.line.intercept - scale * level.raw;
    squares += r * r;
    chi2 += r * r / (scale * scale * level.raw_variance + level.x_variance + 1e-6 * range * range);
  }
  const double freedom = std::max(1.0, static_cast<double>(out.levels.size()) - 2);
  out.residual_rms = std::sqrt(squares / static_cast<double>(out.levels.size()));
  out.misfit = chi2 / freedom;

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
  const double independent = std::max(1.0, share * static_cast<double>(out.levels.size()) - 2);
  // The stated errors are taken as relative weights; how large they are is read off the residuals.
  const double widen = student_t(0.95, independent) * std::sqrt(out.line.reduced_chi2 / share);
  const double d_scale = widen * out.line.slope_se;
  const double d_offset = widen * out.line.intercept_se;
  out.scale = {scale - d_scale, scale + d_scale};
  out.offset = {out.line.intercept - d_offset, out.line.intercept + d_offset};
  return out;
}

double noise_within_rows(std::span<const double> values, std::span<const int> row_of_value) {
  double squares = 0;
  double freedom = 0;
  for (std::size_t i = 0; i < values.size();) {
    std::size_t end = i;
    double sum = 0;
    for (; end < values.size() && row_of_value[end] == row_of_value[i]; ++end) sum += values[end];
    const auto n = static_cast<double>(end - i);
    for (std::size_t k = i; k < end; ++k) squares += (values[k] - sum / n) * (values[k] - sum / n);
    freedom += n - 1;
    i = end;
  }
  return freedom > 0 ? std::sqrt(squares / freedom) : 0;
}

}  // namespace foundling
