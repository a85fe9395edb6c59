#include "decoder/analysis/curve_basis.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace foundling {
namespace {

double mean_product(std::span<const double> a, std::span<const double> b) {
  return std::inner_product(a.begin(), a.end(), b.begin(), 0.0) / static_cast<double>(a.size());
}

void centre(std::vector<double>& values) {
  const double mean =
      std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
  for (double& v : values) v -= mean;
}

}  // namespace

CurveBasis curve_basis(std::span<const double> x) {
  CurveBasis basis;
  for (auto& f : basis) f.assign(x.size(), 0);
  if (x.empty()) return basis;
  const auto [low, high] = std::minmax_element(x.begin(), x.end());
  const double middle = (*low + *high) / 2;
  const double half = (*high - *low) / 2;
  if (!(half > 0)) return basis;
  std::vector<double> power(x.size(), 1);
  for (std::size_t k = 0; k < curve_functions; ++k) {
    for (std::size_t i = 0; i < x.size(); ++i) power[i] *= (x[i] - middle) / half;
    std::vector<double> f = power;
    centre(f);
    for (std::size_t j = 0; j < k; ++j) {
      const double share = mean_product(f, basis[j]);
      for (std::size_t i = 0; i < f.size(); ++i) f[i] -= share * basis[j][i];
    }
    const double size = std::sqrt(mean_product(f, f));
    if (size < 1e-6) return basis;  // as many functions as x has values for
    for (std::size_t i = 0; i < f.size(); ++i) basis[k][i] = f[i] / size;
  }
  return basis;
}

CurveCovariances curve_covariances(const Moments& moments, const CurveBasis& basis) {
  CurveCovariances c;
  for (std::size_t k = 0; k < curve_functions; ++k) c[k] = bit_covariances(moments, basis[k]);
  return c;
}

double curve_r2(const CurveBasis& basis, std::span<const double> y) {
  std::vector<double> deviation(y.begin(), y.end());
  if (deviation.empty()) return 0;
  centre(deviation);
  const double variance = mean_product(deviation, deviation);
  if (!(variance > 0)) return 0;
  double explained = 0;
  for (const auto& f : basis) {
    const double c = mean_product(deviation, f);
    explained += c * c;
  }
  return explained / variance;
}

}  // namespace foundling
