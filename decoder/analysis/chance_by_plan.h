// The chance figure where the stimuli were drawn at random and it is known how: the search is run
// again on stimuli that the same draw might have given. Unlike permuted plateaus this holds
// whatever the board's fields do by themselves, drifts included: the only randomness it leans on is
// the plan's own.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/analysis/channel_search.h"
#include "decoder/analysis/planned_stimuli.h"

namespace foundling {

// The share of draws, the real one counted in, in which the best field of all streams, at any of
// the delays that a search tries, follows the drawn levels with r2 or better.
[[nodiscard]] double chance_by_plan(std::span<const Stream> streams,
                                    std::span<const PlannedStretch> stretches,
                                    std::span<const std::vector<double>> levels, double r2);

// How closely a field follows the levels as they were, in these stretches.
[[nodiscard]] double planned_r2(const Stream& stream, std::span<const PlannedStretch> stretches,
                                std::span<const double> levels, std::int64_t delay_ns,
                                const Field& field);

// How closely the best field of all does, at any of those delays.
[[nodiscard]] double best_planned_r2(std::span<const Stream> streams,
                                     std::span<const PlannedStretch> stretches,
                                     std::span<const double> levels);

}  // namespace foundling
