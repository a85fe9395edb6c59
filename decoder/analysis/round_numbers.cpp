#include "decoder/analysis/round_numbers.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

namespace foundling {
namespace {

constexpr double unrounded_cost = 16;  // bits: what a number nobody would choose costs

struct Candidate {
  double value;
  double cost;
};

double power_of_ten(int e) { return e < 0 ? 1 / std::pow(10.0, -e) : std::pow(10.0, e); }

// Decimals of up to three digits in [low, high], positive.
void add_decimals(std::vector<Candidate>& out, double low, double high) {
  for (int digits = 1; digits <= 3; ++digits) {
    const int exponent = static_cast<int>(std::floor(std::log10(high))) - digits + 1;
    for (int e = exponent - 1; e <= exponent; ++e) {
      const double step = power_of_ten(e);
      const auto first = static_cast<std::int64_t>(std::ceil(low / step - 1e-9));
      const auto last = static_cast<std::int64_t>(std::floor(high / step + 1e-9));
      for (std::int64_t m = std::max<std::int64_t>(first, 1);
           m <= std::min<std::int64_t>(last, 999); ++m) {
        // Divided where that is exact to the eye: 0.1 and not 0.1000000000001.
        const double value =
            e < 0 ? static_cast<double>(m) / power_of_ten(-e) : static_cast<double>(m) * step;
        std::int64_t bare = m;
        while (bare % 10 == 0) bare /= 10;
        double cost = 12;
        if (bare == 1)
          cost = 0;
        else if (bare == 2 || bare == 5)
          cost = 1;
        else if (bare == 25 || bare == 4)
          cost = 3;
        else if (bare < 10)
          cost = 4;
        else if (bare == 125 || bare == 15 || bare == 75)
          cost = 5;
        else if (bare < 100)
          cost = 8;
        out.push_back({value, cost});
      }
    }
  }
}

// Binary fractions of simple numbers, as sensors and standards have them: 1/32, 5/1024, 100/4096.
void add_binary_fractions(std::vector<Candidate>& out, double low, double high) {
  struct Numerator {
    double value;
    double cost;
  };
  constexpr std::array<Numerator, 12> numerators{{{1, 1},
                                                  {10, 5},
                                                  {100, 5},
                                                  {1000, 5},
                                                  {5, 5},
                                                  {50, 6},
                                                  {500, 6},
                                                  {3, 6},
                                                  {2.5, 6},
                                                  {25, 6},
                                                  {3.3, 7},
                                                  {250, 7}}};
  for (const Numerator& n : numerators) {
    const int from = std::max(-8, static_cast<int>(std::floor(std::log2(n.value / high))));
    for (int k = from; k <= from + 2; ++k) {
      const double value = std::ldexp(n.value, -k);
      if (value >= low && value <= high && k <= 24) out.push_back({value, n.cost + 1});
    }
  }
}

struct SpanOfOffsets {
  double low;
  double high;
  double best;
};

// The offset with the fewest digits in an interval; the well-known ones first.
Candidate simplest_offset(const SpanOfOffsets& offsets, double scale, const Span& span) {
  const double half_range = -scale * std::ldexp(1.0, span.width() - 1);
  const std::array<Candidate, 5> known{
      {{0, 0}, {-40, 2}, {half_range, 3}, {-273, 4}, {-273.15, 5}}};
  Candidate best{offsets.best, unrounded_cost};
  for (const Candidate& k : known) {
    if (k.value >= offsets.low && k.value <= offsets.high && k.cost < best.cost) best = k;
  }
  const double size = std::max(std::abs(offsets.low), std::abs(offsets.high));
  if (size <= 0) return best;
  const int top = static_cast<int>(std::floor(std::log10(size)));
  for (int digits = 1; digits <= 5; ++digits) {
    for (const double multiple : {5.0, 1.0}) {
      const double step = multiple * power_of_ten(top - digits + 1);
      const double nearest = std::round(offsets.best / step) * step;
      const double cost = 2.0 + 3.0 * digits - (multiple > 1 ? 1 : 0);
      if (nearest >= offsets.low && nearest <= offsets.high && cost < best.cost) {
        const int e = top - digits + 1;
        const double clean =
            e < 0 ? std::round(nearest * power_of_ten(-e)) / power_of_ten(-e) : nearest;
        best = {clean, cost};
      }
    }
  }
  return best;
}

}  // namespace

RoundLine round_line(const Calibration& c, const Span& span, const RoundTolerance& tolerance) {
  const double fitted = c.line.slope;
  RoundLine best{false, fitted, c.line.intercept, 2 * unrounded_cost};
  const double sign = fitted < 0 ? -1 : 1;
  const double half = (c.scale.high - c.scale.low) / 2;
  const double widened = std::min(half, 0.2 * std::abs(fitted)) + tolerance.gain * std::abs(fitted);
  const double low = std::abs(fitted) - widened;
  const double high = std::abs(fitted) + widened;
  if (!(low > 0) || !std::isfinite(high)) return best;
  std::vector<Candidate> scales;
  add_decimals(scales, low, high);
  // A float has the unit in itself; what needs a binary fraction is no float.
  if (tolerance.zero_lsb > 0) add_binary_fractions(scales, low, high);

  const double sd = std::hypot(half / 2, tolerance.gain_sd * std::abs(fitted));
  double mean_raw = 0;
  double mean_x = 0;
  double used = 0;
  for (const LevelPoint& p : c.levels) {
    if (p.outlier) continue;
    mean_raw += p.raw;
    mean_x += p.x;
    used += 1;
  }
  mean_raw /= used;
  mean_x /= used;
  const double x_range = c.levels.back().x - c.levels.front().x;
  const double offset_half = (c.offset.high - c.offset.low) / 2;
  for (const Candidate& s : scales) {
    const double scale = sign * s.value;
    const double z = (s.value - std::abs(fitted)) / sd;
    // If the gain is off, the line turns about x = 0; if it is chance, about the middle.
    const double turned = c.line.intercept * scale / fitted;
    const double middle = mean_x - scale * mean_raw;
    const double extra = std::min(offset_half, 0.02 * x_range) +
                         (tolerance.zero_lsb > 0 ? std::max(tolerance.zero_lsb * std::abs(scale),
                                                            tolerance.zero_range * x_range)
                                                 : 0.002 * x_range);
    const SpanOfOffsets offsets{std::min(turned, middle) - extra, std::max(turned, middle) + extra,
                                (std::abs(z) > 2 ? turned : (turned + middle) / 2)};
    const Candidate offset = simplest_offset(offsets, scale, span);
    const double cost = s.cost + 0.72 * z * z + offset.cost;
    if (cost < best.cost_bits) best = {true, scale, offset.value, cost};
  }
  return best;
}

}  // namespace foundling
