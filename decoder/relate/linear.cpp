#include "decoder/relate/linear.h"

#include <cmath>
#include <cstddef>

namespace foundling::relate {
namespace {

using Matrix = std::vector<std::vector<double>>;

// The lower factor of a symmetric positive matrix, in place; false where it is not positive.
bool factor(Matrix& a) {
  const std::size_t n = a.size();
  for (std::size_t j = 0; j < n; ++j) {
    for (std::size_t k = 0; k < j; ++k) a[j][j] -= a[j][k] * a[j][k];
    if (!(a[j][j] > 0)) return false;
    a[j][j] = std::sqrt(a[j][j]);
    for (std::size_t i = j + 1; i < n; ++i) {
      for (std::size_t k = 0; k < j; ++k) a[i][j] -= a[i][k] * a[j][k];
      a[i][j] /= a[j][j];
    }
  }
  return true;
}

std::vector<double> solve(const Matrix& lower, std::vector<double> b) {
  const std::size_t n = b.size();
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k < i; ++k) b[i] -= lower[i][k] * b[k];
    b[i] /= lower[i][i];
  }
  for (std::size_t i = n; i-- > 0;) {
    for (std::size_t k = i + 1; k < n; ++k) b[i] -= lower[k][i] * b[k];
    b[i] /= lower[i][i];
  }
  return b;
}

double dot(const std::vector<double>& a, const std::vector<double>& b,
           const std::vector<bool>& use) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (use.empty() || use[i]) sum += a[i] * b[i];
  }
  return sum;
}

}  // namespace

Fit fit(std::span<const std::vector<double>> columns, const std::vector<double>& y, double ridge,
        const std::vector<bool>& use) {
  const std::size_t n = columns.size();
  Matrix a(n, std::vector<double>(n));
  std::vector<double> b(n);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j <= i; ++j) a[i][j] = a[j][i] = dot(columns[i], columns[j], use);
    b[i] = dot(columns[i], y, use);
  }
  for (std::size_t i = 0; i < n; ++i) a[i][i] += ridge + 1e-9 * a[i][i];
  Fit out;
  if (!factor(a)) return out;
  out.slope = solve(a, b);
  double total = 0;
  double left = 0;
  std::size_t rows = 0;
  for (std::size_t r = 0; r < y.size(); ++r) {
    if (!use.empty() && !use[r]) continue;
    double shown = 0;
    for (std::size_t i = 0; i < n; ++i) shown += out.slope[i] * columns[i][r];
    total += y[r] * y[r];
    left += (y[r] - shown) * (y[r] - shown);
    ++rows;
  }
  if (!(total > 0) || rows <= n) return out;
  out.r2 = 1 - left / total;
  const double variance = left / static_cast<double>(rows - n);
  for (std::size_t i = 0; i < n; ++i) {
    std::vector<double> unit(n);
    unit[i] = 1;
    out.deviation.push_back(std::sqrt(variance * solve(a, unit)[i]));
  }
  out.ok = true;
  return out;
}

Line line_through_zero(const std::vector<double>& x, const std::vector<double>& y, double error_x,
                       double error_y, const std::vector<bool>& use) {
  const double xx = dot(x, x, use);
  const double yy = dot(y, y, use);
  const double xy = dot(x, y, use);
  Line line;
  if (!(xx > 0) || !(yy > 0) || xy == 0) return line;
  const double ratio = error_x > 0 ? (error_y * error_y) / (error_x * error_x) : 1e12;
  const double d = yy - ratio * xx;
  line.slope = ratio > 1e11 ? xy / xx : (d + std::sqrt(d * d + 4 * ratio * xy * xy)) / (2 * xy);
  line.r2 = xy * xy / (xx * yy);
  double left = 0;
  std::size_t rows = 0;
  for (std::size_t r = 0; r < x.size(); ++r) {
    if (!use.empty() && !use[r]) continue;
    left += (y[r] - line.slope * x[r]) * (y[r] - line.slope * x[r]);
    ++rows;
  }
  line.deviation = rows > 1 ? std::sqrt(left / static_cast<double>(rows - 1) / xx) : 0;
  return line;
}

}  // namespace foundling::relate
