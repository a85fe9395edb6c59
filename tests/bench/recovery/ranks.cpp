#include "tests/bench/recovery/ranks.h"

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <numeric>

namespace foundling::recovery {

double rank_of(double truth, const Interval& interval, int levels) {
  const double off = truth - (interval.low + interval.high) / 2;
  const double half = (interval.high - interval.low) / 2;
  if (!(half > 0)) return off < 0 ? 0 : off > 0 ? 1 : 0.5;
  const boost::math::students_t_distribution<double> student(std::max(levels - 2, 1));
  const double deviation = half / boost::math::quantile(student, 0.975);
  const double t = std::clamp(off / deviation, -1e6, 1e6);  // beyond, the rank is an end anyway
  return boost::math::cdf(student, t);
}

void RankHistogram::add(double rank) {
  const double place = std::clamp(rank, 0.0, 1.0) * bins;
  ++counts[std::min(static_cast<std::size_t>(place), bins - 1)];
}

RankHistogram& RankHistogram::operator+=(const RankHistogram& other) {
  for (std::size_t i = 0; i < bins; ++i) counts[i] += other.counts[i];
  return *this;
}

int RankHistogram::total() const { return std::accumulate(counts.begin(), counts.end(), 0); }

double RankHistogram::chi_square() const {
  if (total() == 0) return 0;
  const double expected = static_cast<double>(total()) / bins;
  double sum = 0;
  for (const int count : counts) sum += (count - expected) * (count - expected) / expected;
  return sum;
}

double RankHistogram::probability() const {
  const boost::math::chi_squared_distribution<double> chi(bins - 1);
  return boost::math::cdf(boost::math::complement(chi, chi_square()));
}

}  // namespace foundling::recovery
