#include "decoder/analysis/line_fit.h"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <numeric>

namespace foundling {
namespace {

double mean(std::span<const double> v) {
  return std::accumulate(v.begin(), v.end(), 0.0) / static_cast<double>(v.size());
}

// One evaluation of York's equations at slope b.
struct YorkStep {
  double slope;
  double mean_x;
  double mean_y;
  double slope_variance;
  double intercept_variance;
};

YorkStep york_step(std::span<const Point> points, double b) {
  std::vector<double> weights;
  double sum = 0;
  double mean_x = 0;
  double mean_y = 0;
  for (const Point& p : points) {
    weights.push_back(1 / (p.sy * p.sy + b * b * p.sx * p.sx));
    sum += weights.back();
    mean_x += weights.back() * p.x;
    mean_y += weights.back() * p.y;
  }
  mean_x /= sum;
  mean_y /= sum;
  double over = 0;
  double under = 0;
  double beta_mean = 0;
  std::vector<double> betas;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Point& p = points[i];
    const double u = p.x - mean_x;
    const double v = p.y - mean_y;
    const double beta = weights[i] * (u * p.sy * p.sy + b * v * p.sx * p.sx);
    over += weights[i] * beta * v;
    under += weights[i] * beta * u;
    beta_mean += weights[i] * beta / sum;
    betas.push_back(beta);
  }
  double spread = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    spread += weights[i] * (betas[i] - beta_mean) * (betas[i] - beta_mean);
  }
  const double adjusted_mean = mean_x + beta_mean;
  return {over / under, mean_x, mean_y, 1 / spread,
          1 / sum + adjusted_mean * adjusted_mean / spread};
}

}  // namespace

LineFit fit_line(std::span<const double> x, std::span<const double> y) {
  LineFit fit;
  fit.n = x.size();
  const double mx = mean(x);
  const double my = mean(y);
  double sxx = 0;
  double sxy = 0;
  double syy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    sxx += (x[i] - mx) * (x[i] - mx);
    sxy += (x[i] - mx) * (y[i] - my);
    syy += (y[i] - my) * (y[i] - my);
  }
  fit.slope = sxy / sxx;
  fit.intercept = my - fit.slope * mx;
  double rss = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double r = (y[i] - my) - fit.slope * (x[i] - mx);
    rss += r * r;
  }
  fit.r2 = syy > 0 ? 1 - rss / syy : 0;
  if (x.size() > 2) {
    const auto n = static_cast<double>(x.size());
    const double variance = rss / (n - 2);
    fit.residual_sd = std::sqrt(variance);
    fit.slope_se = std::sqrt(variance / sxx);
    fit.intercept_se = std::sqrt(variance * (1 / n + mx * mx / sxx));
  }
  return fit;
}

LineFit fit_york(std::span<const Point> points) {
  std::vector<double> x;
  std::vector<double> y;
  for (const Point& p : points) {
    x.push_back(p.x);
    y.push_back(p.y);
  }
  LineFit fit = fit_line(x, y);
  YorkStep step{};
  for (int round = 0; round < 100; ++round) {
    step = york_step(points, fit.slope);
    const double change = std::abs(step.slope - fit.slope);
    fit.slope = step.slope;
    if (change <= 1e-15 * std::abs(fit.slope)) break;
  }
  fit.intercept = step.mean_y - fit.slope * step.mean_x;
  fit.slope_se = std::sqrt(step.slope_variance);
  fit.intercept_se = std::sqrt(step.intercept_variance);
  double chi2 = 0;
  double rss = 0;
  for (const Point& p : points) {
    const double r = p.y - fit.intercept - fit.slope * p.x;
    chi2 += r * r / (p.sy * p.sy + fit.slope * fit.slope * p.sx * p.sx);
    rss += r * r;
  }
  const double freedom = std::max(1.0, static_cast<double>(points.size()) - 2);
  fit.reduced_chi2 = chi2 / freedom;
  fit.residual_sd = std::sqrt(rss / freedom);
  return fit;
}

double student_t(double two_sided_probability, double degrees_of_freedom) {
  const boost::math::students_t distribution(std::max(1.0, degrees_of_freedom));
  return boost::math::quantile(distribution, 0.5 + two_sided_probability / 2);
}

}  // namespace foundling
