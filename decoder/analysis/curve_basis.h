// Curves in a channel, for fields that are no straight line of it: x, its square and its cube, made
// uncorrelated over the rows at hand (Gram-Schmidt), so that the share of a field's variance which
// any such curve explains is a sum of squares and comes out of the same moments as a line.
#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "decoder/analysis/moments.h"

namespace foundling {

constexpr std::size_t curve_functions = 3;

// A list of values for each function, mean 0 and variance 1; all 0 where x has too few values.
using CurveBasis = std::array<std::vector<double>, curve_functions>;
using CurveCovariances = std::array<std::vector<double>, curve_functions>;  // of each bit

[[nodiscard]] CurveBasis curve_basis(std::span<const double> x);
[[nodiscard]] CurveCovariances curve_covariances(const Moments& moments, const CurveBasis& basis);

// The share of the variance of `y` that the basis explains; both over the same rows.
[[nodiscard]] double curve_r2(const CurveBasis& basis, std::span<const double> y);

}  // namespace foundling
