// The table of a field that follows its channel along a curve: a point for each level, and points
// between them where a straight line would cut the bend.
#pragma once

#include <vector>

#include "decoder/analysis/curve_search.h"
#include "decoder/analysis/proposal.h"

namespace foundling {

// Ascending in raw. Measured points carry what the level's readings and the field's rounding and
// ripple leave open. Between them the table follows the smooth curve through them that overshoots
// nowhere; at both ends it reaches as far as single frames did at the outermost levels.
[[nodiscard]] std::vector<CurvePoint> curve_table(const Stream& stream, const CurveFinding& found);

// Points on that curve between measured ones, where a chord departs from it by more than
// `tolerance` (unit of the values). `points`: two at least, strictly ascending in raw, values
// strictly rising or falling.
[[nodiscard]] std::vector<CurvePoint> with_points_between(const std::vector<CurvePoint>& points,
                                                          double tolerance);

}  // namespace foundling
