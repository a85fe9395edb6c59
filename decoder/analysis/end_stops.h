// A straight field that stops at the ends of its measuring range looks like a curve: straight
// inside, still beyond.
#pragma once

#include <optional>

#include "decoder/analysis/monotone_curve.h"
#include "decoder/analysis/proposal.h"

namespace foundling {

// The stretch of x in which the curve is straight, where the levels left out at either end fall
// short of the line and stand still; none where there is no such stretch of five levels and half of
// the nodes. `share`: of its range in raw, what a node may be off the line besides half a code.
[[nodiscard]] std::optional<Interval> straight_stretch(const MonotoneCurve& curve, double share);

}  // namespace foundling
