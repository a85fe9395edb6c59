#include "decoder/analysis/calibration.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <numeric>

namespace foundling {
namespace {

struct Plateau {
  double raw = 0;
  double x = 0;
  double u = 0;
  double unrest = 0;
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
    p.x += set.rows[i].x * n;  // a low-pass makes it differ from row to row
    p.u = set.rows[i].u;
    p.unrest = set.rows[i].unrest;
  }
  std::vector<Plateau> plateaus;
  for (auto& [number, p] : by_number) {
    p.raw /= p.frames;
    p.x /= p.frames;
    plateaus.push_back(p);
  }
  std::sort(plateaus.begin(), plateaus.end(),
            [](const Plateau& a, const Plateau& b) { return a.x < b.x; });
  return plateaus;
}

// Plateaus at the same level share their rounding error: they are one point. A channel that moves
// all the time is rounded anew in every frame.
std::vector<LevelPoint> levels_of(const std::vector<Plateau>& plateaus, const Ripple& ripple,
                                  double near, double step, ChannelKind kind) {
  std::vector<LevelPoint> levels;
  const double rounding = kind == ChannelKind::hold && step > 0
                              ? step * step * rounding_variance(ripple.noise / step)
                              : 0;
  const double scatter = ripple.output * ripple.output / ripple.independent;
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
      level.unrest += plateaus[k].unrest / n;
      frames += plateaus[k].frames;
    }
    level.raw_variance = rounding + scatter / frames;
    level.plateaus = static_cast<int>(end - i);
    levels.push_back(level);
    i = end;
  }
  return levels;
}

// What the stated errors do not account for: a variance of every level (raw, LSB squared), and an
// error in proportion to how restless the channel was then.
struct Unstated {
  double extra = 0;
  double of_unrest = 0;
};

std::vector<Point> points_of(const std::vector<LevelPoint>& levels, const Unstated& unstated) {
  std::vector<Point> points;
  for (const LevelPoint& level : levels) {
    if (level.outlier) continue;
    const double wander = unstated.of_unrest * level.unrest;
    const double sx =
        std::sqrt(std::max(level.raw_variance, 1e-12) + unstated.extra + wander * wander);
    points.push_back({level.raw, level.x, sx, std::sqrt(level.x_variance)});
  }
  return points;
}

// The line, with the least extra variance that makes the levels scatter as their errors say
// (R. C. Paule, J. Mandel, J. Res. NBS 87 (1982) 377): so no level counts for more than it knows.
LineFit fit_with_extra(const std::vector<LevelPoint>& levels, Unstated& unstated) {
  unstated.extra = 0;
  LineFit fit = fit_york(points_of(levels, unstated));
  if (fit.reduced_chi2 <= 1 || levels.size() < 3) return fit;
  double low = 0;
  double high = 1e-6;
  const auto too_tight = [&](double extra) {
    unstated.extra = extra;
    fit = fit_york(points_of(levels, unstated));
    return fit.reduced_chi2 > 1;
  };
  while (too_tight(high) && high < 1e12) high *= 8;
  for (int round = 0; round < 40; ++round) {
    const double middle = (low + high) / 2;
    (too_tight(middle) ? low : high) = middle;
  }
  return fit;
}

double log_likelihood(const std::vector<LevelPoint>& levels, const Unstated& unstated,
                      const LineFit& fit) {
  double sum = 0;
  for (const Point& p : points_of(levels, unstated)) {
    const double variance = p.sy * p.sy + fit.slope * fit.slope * p.sx * p.sx;
    const double r = p.y - fit.intercept - fit.slope * p.x;
    sum -= 0.5 * (std::log(variance) + r * r / variance);
  }
  return sum;
}

// A moving channel is known at its readings only, and a board that lags sees what lay between them:
// readings in restless times count less, by as much as makes all of them likeliest.
LineFit fit_levels(const std::vector<LevelPoint>& levels, ChannelKind kind, Unstated& unstated) {
  LineFit best = fit_with_extra(levels, unstated);
  if (kind == ChannelKind::hold) return best;
  double most = log_likelihood(levels, unstated, best);
  for (double share = 0.01; share < 1; share *= 2) {
    Unstated tried{0, share};
    const LineFit fit = fit_with_extra(levels, tried);
    const double likelihood = log_likelihood(levels, tried, fit);
    if (likelihood <= most) continue;
    most = likelihood;
    best = fit;
    unstated = tried;
  }
  return best;
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double median_slope(std::span<const LevelPoint> levels) {
  std::vector<double> slopes;
  for (std::size_t i = 0; i < levels.size(); ++i) {
    for (std::size_t k = i + 1; k < levels.size(); ++k) {
      if (levels[k].x != levels[i].x) {
        slopes.push_back((levels[k].raw - levels[i].raw) / (levels[k].x - levels[i].x));
      }
    }
  }
  return slopes.empty() ? 0 : median(slopes);
}

// How many levels at the beginning show the same code although the others' line says that they
// should not: the field is at its end stop there.
std::size_t stopped(std::span<const LevelPoint> levels, double step) {
  const auto same = [&](const LevelPoint& p) {
    return std::abs(p.raw - levels[0].raw) < 0.02 * step;
  };
  const auto end = std::find_if_not(levels.begin(), levels.end(), same);
  const std::size_t run = static_cast<std::size_t>(end - levels.begin());
  const auto rest = levels.subspan(run);
  if (run < 2 || rest.size() < 3 || rest.size() * 5 < levels.size() * 2) return 0;
  const double expected = std::abs(median_slope(rest) * (levels[run - 1].x - levels[0].x));
  return expected > 4 * step ? run : 0;
}

void mark_stops(std::vector<LevelPoint>& levels, double step) {
  const std::size_t low = stopped(levels, step);
  std::vector<LevelPoint> backwards(levels.rbegin(), levels.rend());
  const std::size_t high = stopped(backwards, step);
  if (levels.size() - low - high < 3) return;
  for (std::size_t i = 0; i < low; ++i) levels[i].outlier = true;
  for (std::size_t i = 0; i < high; ++i) levels[levels.size() - 1 - i].outlier = true;
}

// How far each level is off the line through most of them (H. Theil 1950, P. K. Sen 1968: the
// median of all slopes), in raw units. A saturated end does not turn that line.
std::vector<double> distances(std::span<const LevelPoint> levels) {
  const double slope = median_slope(levels);
  std::vector<double> off;
  off.reserve(levels.size());
  for (const LevelPoint& level : levels) off.push_back(level.raw - slope * level.x);
  const double middle = median(off);
  for (double& value : off) value = std::abs(value - middle);
  return off;
}

// Levels far off the others' line: a reserved code, a level that was not what its reading says, a
// saturated end. At most a sixth of them, two fifths where all lie at an end of the raw range; and
// never what rounding alone could do. `least`: raw, a difference that counts; of a float, which is
// not rounded, too.
void mark_outliers(std::vector<LevelPoint>& all, double step, double least) {
  mark_stops(all, least);
  std::vector<LevelPoint> levels;
  std::copy_if(all.begin(), all.end(), std::back_inserter(levels),
               [](const LevelPoint& p) { return !p.outlier; });
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
  std::size_t i = 0;
  for (LevelPoint& level : all) {
    if (!level.outlier) level.outlier = off[i++] > limit;
  }
}

// Half widths of 95 % intervals.
struct Spread {
  double scale = 0;
  double offset = 0;
};

// The delete-a-block jackknife (R. G. Miller, Biometrika 61 (1974) 1; blocks for errors that hang
// together: H. R. Kunsch, Ann. Statist. 17 (1989) 1217) of the line through moments in order of
// time, each with its error in y. Bursts of error, as a moving channel has them, widen it.
Spread spread_of_blocks(std::span<const Point> moments) {
  constexpr std::size_t blocks = 16;
  if (moments.size() < 4 * blocks) return {};
  std::vector<double> scales;
  std::vector<double> offsets;
  for (std::size_t left_out = 0; left_out < blocks; ++left_out) {
    double w = 0, wx = 0, wy = 0, wxx = 0, wxy = 0;
    for (std::size_t i = 0; i < moments.size(); ++i) {
      if (i * blocks / moments.size() == left_out) continue;
      const Point& p = moments[i];
      const double weight = 1 / (p.sy * p.sy);
      w += weight;
      wx += weight * p.x;
      wy += weight * p.y;
      wxx += weight * p.x * p.x;
      wxy += weight * p.x * p.y;
    }
    scales.push_back((w * wxy - wx * wy) / (w * wxx - wx * wx));
    offsets.push_back((wy - scales.back() * wx) / w);
  }
  const double widen = student_t(0.95, blocks - 1) * std::sqrt(static_cast<double>(blocks - 1));
  const auto deviation = [](const std::vector<double>& values) {
    double sum = 0;
    double squares = 0;
    for (const double v : values) sum += v / static_cast<double>(values.size());
    for (const double v : values) {
      squares += (v - sum) * (v - sum) / static_cast<double>(values.size());
    }
    return std::sqrt(squares);
  };
  return {widen * deviation(scales), widen * deviation(offsets)};
}

}  // namespace

Calibration calibrate(const RowSet& set, std::span<const double> raw, const Ripple& ripple,
                      std::span<const std::size_t> frames_a_row, double step) {
  Calibration out;
  const std::vector<Plateau> plateaus = plateaus_of(set, raw, frames_a_row);
  if (plateaus.size() < 2) return out;
  std::vector<double> xs;
  std::vector<double> raws;
  for (const Plateau& p : plateaus) {
    xs.push_back(p.x);
    raws.push_back(p.raw);
  }
  const double slope = std::abs(fit_line(raws, xs).slope);
  const double lsb = step > 0 ? slope : 5e-4 * (xs.back() - xs.front());
  out.levels =
      levels_of(plateaus, ripple, set.kind == ChannelKind::sample ? -1 : 0.2 * lsb, step, set.kind);
  if (out.levels.size() < 3) return out;
  for (LevelPoint& level : out.levels) level.unrest /= slope;
  if (set.kind == ChannelKind::hold) mark_outliers(out.levels, step, step > 0 ? step : lsb / slope);
  Unstated unstated;
  out.line = fit_levels(out.levels, set.kind, unstated);

  const double scale = out.line.slope;
  const double range = xs.back() - xs.front();
  double squares = 0;
  double misfit = 0;
  double n = 0;
  for (const LevelPoint& level : out.levels) {
    if (level.outlier) continue;
    const double r = level.x - out.line.intercept - scale * level.raw;
    squares += r * r;
    misfit += r * r /
              (scale * scale * std::max(level.raw_variance, 0.02 * step) + level.x_variance +
               1e-6 * range * range);
    n += 1;
  }
  out.residual_rms = std::sqrt(squares / n);
  out.misfit = misfit / std::max(1.0, n - 2);

  double share = 1;
  Spread spread;
  if (set.kind == ChannelKind::sample) {
    std::vector<Point> moments;
    std::vector<double> residuals;
    for (std::size_t i = 0; i < set.rows.size(); ++i) {
      if (!std::isfinite(raw[i])) continue;
      const Row& row = set.rows[i];
      const double wander = unstated.of_unrest * row.unrest / slope;
      const double raw_variance =
          ripple.output * ripple.output / static_cast<double>(frames_a_row[i]) + unstated.extra +
          wander * wander;
      const double variance = scale * scale * raw_variance + row.u * row.u;
      moments.push_back({raw[i], row.x, 0, std::sqrt(variance)});
      residuals.push_back((row.x - out.line.intercept - scale * raw[i]) / std::sqrt(variance));
    }
    // Successive errors are not independent (Bartlett's sum; Pyper & Peterman 1998).
    share = independent_share(residuals, std::vector<int>(residuals.size(), 0));
    spread = spread_of_blocks(moments);
  }
  // How far the levels scatter against their stated errors, these taken as some prior observations
  // of it where they are stated: a few levels that happen to lie well do not make the errors
  // smaller.
  const bool stated = std::all_of(out.levels.begin(), out.levels.end(),
                                  [](const LevelPoint& p) { return p.x_variance > 0; });
  const double prior = stated ? 3 : 0;
  const double freedom = std::max(1.0, share * n - 2);
  const double chi2 = (prior + freedom * out.line.reduced_chi2) / (prior + freedom);
  const double widen = student_t(0.95, freedom + prior) * std::sqrt(chi2 / share);
  const double d_scale = std::max(widen * out.line.slope_se, spread.scale);
  const double d_offset = std::max(widen * out.line.intercept_se, spread.offset);
  out.scale = {scale - d_scale, scale + d_scale};
  out.offset = {out.line.intercept - d_offset, out.line.intercept + d_offset};
  return out;
}

}  // namespace foundling
