// Levels that went one way with time: then whatever drifts follows them, and no permutation is an
// honest comparison, since in nearly all of them the levels do not go with time. What tells a field
// from a drift is that it rests while its channel rests.
#pragma once

#include <cstdint>

#include "decoder/analysis/refine.h"

namespace foundling {

// Whether nearly all pairs of plateaus are in order of time, rising or falling (M. G. Kendall,
// Biometrika 30 (1938) 81: his tau beyond 0.8).
[[nodiscard]] bool went_one_way(const RowSet& set);

// How much of what the field would drift within the plateaus, were it drifting from its first to
// its last level at one speed, it does drift: near 1 for a drift, near 0 for steps.
[[nodiscard]] double drift_share(const Stream& stream, const RowSet& set, std::int64_t delay_ns,
                                 const Field& field);

}  // namespace foundling
