// Where the truth falls in the stated intervals. Each interval is taken as the middle 95 % of a
// distribution about its middle, and the truth's rank is the share of that distribution below it.
// Over many boards the ranks of honest intervals are uniform (the probability integral transform,
// A. P. Dawid 1984; as a histogram S. Talts et al., arXiv 1804.06788). Heaps at both ends mean
// intervals that are too narrow, a heap in the middle too wide, a slope a bias: a count of what
// they cover cannot tell these apart.
#pragma once

#include <array>

#include "decoder/analysis/proposal.h"

namespace foundling::recovery {

// Student's distribution, as of a line fitted through `levels` points.
[[nodiscard]] double rank_of(double truth, const Interval& interval, int levels);

struct RankHistogram {
  static constexpr std::size_t bins = 10;
  std::array<int, bins> counts{};

  void add(double rank);  // 0..1
  RankHistogram& operator+=(const RankHistogram& other);
  [[nodiscard]] int total() const;
  // Pearson's: how uneven, and how probable at least that much is if all bins are alike.
  [[nodiscard]] double chi_square() const;
  [[nodiscard]] double probability() const;
  // Fewer than five expected in a bin and chi-square's distribution does not hold (W. G. Cochran
  // 1954).
  [[nodiscard]] bool can_be_judged() const { return total() >= static_cast<int>(5 * bins); }
};

}  // namespace foundling::recovery
