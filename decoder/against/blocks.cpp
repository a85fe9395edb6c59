#include "decoder/against/blocks.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace foundling::held {
namespace {

double log_choose(std::size_t n, std::size_t k) {
  double sum = 0;
  for (std::size_t i = 1; i <= k; ++i) {
    sum += std::log(static_cast<double>(n - k + i)) - std::log(static_cast<double>(i));
  }
  return sum;
}

std::pair<double, double> ends(std::span<const double> values) {
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  return {*low, *high};
}

}  // namespace

std::size_t block_count(std::size_t n) { return std::min(n, most_blocks); }

std::pair<std::size_t, std::size_t> block_of(std::size_t n, std::size_t i) {
  const std::size_t k = block_count(n);
  return {n * i / k, n * (i + 1) / k};
}

double middle_mean(std::vector<double> values) {
  if (values.empty()) return 0;
  std::sort(values.begin(), values.end());
  const std::size_t off = values.size() < 3 ? 0 : std::max<std::size_t>(1, values.size() / 4);
  const auto first = values.begin() + static_cast<std::ptrdiff_t>(off);
  const auto last = values.end() - static_cast<std::ptrdiff_t>(off);
  return std::accumulate(first, last, 0.0) / static_cast<double>(last - first);
}

std::vector<double> block_means(std::span<const double> values) {
  std::vector<double> means;
  for (std::size_t i = 0; i < block_count(values.size()); ++i) {
    const auto [from, to] = block_of(values.size(), i);
    const auto part = values.subspan(from, to - from);
    means.push_back(middle_mean({part.begin(), part.end()}));
  }
  return means;
}

double chance_of_order(std::size_t ka, std::size_t kb) {
  if (ka == 0 || kb == 0) return 1;
  return std::min(1.0, 2 * std::exp(-log_choose(ka + kb, ka)));
}

double chance_all_in_one(std::size_t k, std::size_t ka, std::size_t kb) {
  double chance = 0;
  if (k <= ka) chance += std::exp(log_choose(ka, k) - log_choose(ka + kb, k));
  if (k <= kb) chance += std::exp(log_choose(kb, k) - log_choose(ka + kb, k));
  return std::min(1.0, chance);
}

bool Levels::apart(double least) const {
  const double between = std::abs(a - b);
  return separate && between > least && between > 3 * range;
}

Levels levels_of(std::span<const double> blocks_a, std::span<const double> blocks_b) {
  Levels levels;
  if (blocks_a.empty() || blocks_b.empty()) return levels;
  levels.a = middle_mean({blocks_a.begin(), blocks_a.end()});
  levels.b = middle_mean({blocks_b.begin(), blocks_b.end()});
  const auto [low_a, high_a] = ends(blocks_a);
  const auto [low_b, high_b] = ends(blocks_b);
  levels.range = std::max(high_a - low_a, high_b - low_b);
  levels.separate = high_a < low_b || high_b < low_a;
  return levels;
}

bool apart_in_ratio(std::span<const double> blocks_a, std::span<const double> blocks_b,
                    double ratio) {
  if (blocks_a.empty() || blocks_b.empty()) return false;
  const auto [low_a, high_a] = ends(blocks_a);
  const auto [low_b, high_b] = ends(blocks_b);
  return low_a > ratio * high_b || low_b > ratio * high_a;
}

}  // namespace foundling::held
