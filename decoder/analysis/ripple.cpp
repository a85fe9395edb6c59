#include "decoder/analysis/ripple.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <vector>

namespace foundling {
namespace {

// The values less the mean of their row.
std::vector<double> deviations(std::span<const double> values, std::span<const int> row,
                               double& freedom) {
  std::vector<double> out(values.begin(), values.end());
  freedom = 0;
  for (std::size_t i = 0; i < out.size();) {
    std::size_t end = i;
    double sum = 0;
    for (; end < out.size() && row[end] == row[i]; ++end) sum += out[end];
    const auto n = static_cast<double>(end - i);
    for (std::size_t k = i; k < end; ++k) out[k] -= sum / n;
    freedom += n - 1;
    i = end;
  }
  return out;
}

// The noise ahead of rounding that makes values scatter so: rounding adds 1/12, less what of it
// does not show because it stays the same.
double noise_before_rounding(double output) {
  double low = 0;
  double high = output;
  for (int i = 0; i < 40; ++i) {
    const double middle = (low + high) / 2;
    const double scatter = middle * middle + 1.0 / 12 - rounding_variance(middle);
    (scatter < output * output ? low : high) = middle;
  }
  return low;
}

}  // namespace

double independent_share(std::span<const double> deviation, std::span<const int> row_of_value) {
  const double square =
      std::inner_product(deviation.begin(), deviation.end(), deviation.begin(), 0.0) /
      static_cast<double>(std::max<std::size_t>(deviation.size(), 1));
  if (square <= 0) return 1;
  double time = 1;
  for (std::size_t lag = 1; lag < 200; ++lag) {
    double product = 0;
    double n = 0;
    for (std::size_t i = lag; i < deviation.size(); ++i) {
      if (row_of_value[i] != row_of_value[i - lag]) continue;
      product += deviation[i] * deviation[i - lag];
      n += 1;
    }
    // The sum ends where the correlation is spent.
    if (n < 30 || product / n < 0.05 * square) break;
    time += 2 * product / n / square;
  }
  return 1 / time;
}

Ripple ripple_of(std::span<const double> values, std::span<const int> row_of_value, double step) {
  Ripple ripple;
  double freedom = 0;
  std::vector<double> deviation = deviations(values, row_of_value, freedom);
  if (freedom < 1) return ripple;
  ripple.independent = independent_share(deviation, row_of_value);
  for (double& d : deviation) d *= d;
  // The largest fiftieth is left out, as a change caught late; of a normal variable's square, 0.89
  // of the sum lies below its 98 % point.
  std::sort(deviation.begin(), deviation.end());
  const auto kept = static_cast<std::ptrdiff_t>(deviation.size() - deviation.size() / 50);
  const double share = deviation.size() >= 50 ? 0.89 : 1;
  ripple.output = std::sqrt(std::accumulate(deviation.begin(), deviation.begin() + kept, 0.0) /
                            (share * freedom));
  ripple.noise = step > 0 ? step * noise_before_rounding(ripple.output / step) : ripple.output;
  return ripple;
}

double rounding_variance(double noise) {
  constexpr double pi = std::numbers::pi;
  double sum = 0;
  for (int k = 1; k <= 30; ++k) {
    const double term = std::exp(-4 * pi * pi * k * k * noise * noise) / (2 * pi * pi * k * k);
    sum += term;
    if (term < 1e-6 * sum) break;
  }
  // What the series still lacks when nothing dithers it.
  return noise < 0.02 ? 1.0 / 12 : sum;
}

}  // namespace foundling
