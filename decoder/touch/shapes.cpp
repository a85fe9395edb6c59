#include "decoder/touch/shapes.h"

#include <algorithm>
#include <cmath>

namespace foundling::touch {
namespace {

constexpr int pulse_bins = 3;  // a frame that is sent for the touch falls into one or two of them

double height(Shape shape, int bin, int from) {
  if (bin < from) return 0;
  if (shape == Shape::bend) return bin - from;
  if (shape == Shape::pulse) return bin < from + pulse_bins ? 1 : 0;
  return 1;
}

// The values along the shape beginning in each bin: by running sums from the window's end.
std::array<double, window_bins> along(const Bins& levelled, Shape shape) {
  std::array<double, window_bins> out{};
  double sum = 0, weighted = 0;
  for (int bin = window_bins - 1; bin >= 0; --bin) {
    const auto i = static_cast<std::size_t>(bin);
    weighted += sum;  // what lies later is one bin further from here
    sum += levelled[i];
    out[i] = shape == Shape::bend ? weighted : sum;
  }
  if (shape != Shape::pulse) return out;
  for (std::size_t i = 0; i + pulse_bins < out.size(); ++i) out[i] -= out[i + pulse_bins];
  return out;
}

// How many of the values count as independent, by what neighbours have in common (Bartlett 1935):
// n (1 - r) / (1 + r), and never below a quarter, for r is taken around the best of all moments.
double independent(const Mask& mask, const Bins& levelled, Shape shape, int best, double gain) {
  double before = 0, products = 0, squares = 0;
  bool has_before = false;
  for (int bin = 0; bin < window_bins; ++bin) {
    if (!mask.seen(bin)) continue;
    const double rest = levelled[static_cast<std::size_t>(bin)] - gain * height(shape, bin, best);
    if (has_before) products += rest * before;
    squares += rest * rest;
    before = rest;
    has_before = true;
  }
  const double r = squares > 0 ? std::clamp(products / squares, 0.0, 0.6) : 0;
  return mask.count() * (1 - r) / (1 + r);
}

}  // namespace

ShapeNorms shape_norms(const Mask& mask, Shape shape) {
  ShapeNorms norms{};
  for (int from = 0; from < window_bins; ++from) {
    Bins values{};
    for (int bin = 0; bin < window_bins; ++bin) {
      values[static_cast<std::size_t>(bin)] = height(shape, bin, from);
    }
    norms[static_cast<std::size_t>(from)] = mask.left_of(values);
  }
  return norms;
}

Moments moments_of_change(const Mask& mask, Bins values, Shape shape, const ShapeNorms& norms,
                          double grain) {
  mask.level(values);
  double total = 0;
  for (const double value : values) total += value * value;
  const auto products = along(values, shape);
  constexpr double too_little = 0.2;  // no seen bin before the change, or none after it
  Bins explained{};
  for (std::size_t i = 0; i < explained.size(); ++i) {
    if (norms[i] > too_little) explained[i] = products[i] * products[i] / norms[i];
  }
  const auto best = static_cast<std::size_t>(std::max_element(explained.begin(), explained.end()) -
                                             explained.begin());
  const double gain = norms[best] > too_little ? products[best] / norms[best] : 0;
  const double half = 0.5 * independent(mask, values, shape, static_cast<int>(best), gain);
  const double floor = mask.count() * grain * grain;
  const double least = std::max(total - explained[best], 0.0) + floor;
  Moments out;
  for (std::size_t i = 0; i < explained.size(); ++i) {
    const double left = std::max(total - explained[i], 0.0) + floor;
    if (norms[i] <= too_little) continue;
    (products[i] > 0 ? out.rising : out.falling)[i] =
        static_cast<float>(std::exp(-half * std::log(left / least)));
  }
  return out;
}

}  // namespace foundling::touch
