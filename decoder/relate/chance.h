// How likely a relation is to look as good by accident. Differences over settled windows of two
// series that have nothing to do with each other go together in no order better than in any other:
// so one is shifted in time against the other and cut into blocks, and none of these pairings may
// look as good. Beyond what so many pairings can show, the tail is bounded by that of r² of n
// independent pairs, Beta(1/2, (n - 2)/2), which is at most (1 - r²)^((n - 2)/2) (R. A. Fisher,
// Biometrika 10 (1915) 507); n is the number of steps that the larger part of the motion is in.
#pragma once

#include <cstdint>
#include <vector>

namespace foundling::relate {

// Over how many steps the motion is spread: (Σ y²)² / Σ y⁴.
[[nodiscard]] double spread_over(const std::vector<double>& y);

// Of one pairing; times `tried` for all. 1 where any of `pairings` permuted ones is as good.
[[nodiscard]] double chance_of(const std::vector<double>& x, const std::vector<double>& y,
                               double tried, std::uint64_t seed, int pairings = 199);

// The same of y = slope * x with steps of like size taken together: rows whose |y| are within a
// factor of two, and what the line leaves of each such group. One large step in common counts as
// one, and many small ones that fit count as well, where `spread_over` sees little but the largest.
// Two rows, the largest, are what the slope takes.
[[nodiscard]] double chance_by_size(const std::vector<double>& x, const std::vector<double>& y,
                                    double slope, double tried);

}  // namespace foundling::relate
