#include "decoder/relate/chance.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <functional>
#include <random>
#include <utility>

namespace foundling::relate {
namespace {

double share_explained(const std::vector<double>& x, const std::vector<double>& y) {
  double xx = 0;
  double yy = 0;
  double xy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    xx += x[i] * x[i];
    yy += y[i] * y[i];
    xy += x[i] * y[i];
  }
  return xx > 0 && yy > 0 ? xy * xy / (xx * yy) : 0;
}

// How much of a difference the one before it foretells.
double foretold(const std::vector<double>& x) {
  double squares = 0;
  double next = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    squares += x[i] * x[i];
    if (i > 0) next += x[i] * x[i - 1];
  }
  return squares > 0 ? next / squares : 0;
}

// Of two series that both go on as they went before, fewer pairs are independent (M. S. Bartlett,
// J. R. Stat. Soc. 98 (1935) 536).
double independent_share(const std::vector<double>& x, const std::vector<double>& y) {
  const double both = std::max(0.0, foretold(x) * foretold(y));
  return (1 - both) / (1 + both);
}

// The series in blocks, in another order, and begun somewhere else.
std::vector<double> rearranged(const std::vector<double>& y, std::mt19937_64& random) {
  constexpr std::size_t blocks = 12;
  const std::size_t shift = random() % y.size();
  const std::size_t length = std::max<std::size_t>(1, y.size() / blocks);
  std::vector<std::size_t> order;
  for (std::size_t at = 0; at < y.size(); at += length) order.push_back(at);
  for (std::size_t i = order.size(); i > 1; --i) std::swap(order[i - 1], order[random() % i]);
  std::vector<double> out;
  out.reserve(y.size());
  for (const std::size_t from : order) {
    for (std::size_t i = from; i < std::min(from + length, y.size()); ++i) {
      out.push_back(y[(i + shift) % y.size()]);
    }
  }
  return out;
}

}  // namespace

double spread_over(const std::vector<double>& y) {
  double two = 0;
  double four = 0;
  for (const double one : y) {
    two += one * one;
    four += one * one * one * one;
  }
  return four > 0 ? two * two / four : 0;
}

double chance_of(const std::vector<double>& x, const std::vector<double>& y, double tried,
                 std::uint64_t seed, int pairings) {
  if (x.size() < 8) return 1;
  const double found = share_explained(x, y);
  const double n = std::min(spread_over(x), spread_over(y)) * independent_share(x, y);
  if (n <= 3) return 1;
  std::mt19937_64 random(seed);
  for (int i = 0; i < pairings; ++i) {
    if (share_explained(x, rearranged(y, random)) >= found) return 1;
  }
  return std::min(1.0, tried * std::pow(1 - found, (n - 2) / 2));
}

double chance_by_size(const std::vector<double>& x, const std::vector<double>& y, double slope,
                      double tried) {
  std::vector<std::pair<double, double>> rows;  // |y|, what is left of it
  for (std::size_t i = 0; i < y.size(); ++i) {
    if (y[i] != 0) rows.emplace_back(std::abs(y[i]), y[i] - slope * x[i]);
  }
  std::ranges::sort(rows, std::greater{});
  double log_chance = 0;
  for (std::size_t from = 0; from < rows.size();) {
    double left = 0;
    double all = 0;
    std::size_t to = from;
    for (; to < rows.size() && rows[to].first > rows[from].first / 2; ++to) {
      left += rows[to].second * rows[to].second;
      all += rows[to].first * rows[to].first;
    }
    const double counted = static_cast<double>(to) - std::max(2.0, static_cast<double>(from));
    if (counted > 0 && left < all) log_chance += counted / 2 * std::log(left / all + 1e-12);
    from = to;
  }
  return std::min(1.0, tried * std::exp(independent_share(x, y) * log_chance));
}

}  // namespace foundling::relate
