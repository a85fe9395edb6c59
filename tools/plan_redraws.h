// The plan that a session followed, drawn again and again: for the chance figure of `correlate`.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "decoder/analysis/planned_stimuli.h"
#include "decoder/bench/plan.h"
#include "schemas/capture/rows.h"
#include "schemas/values/result.h"

namespace foundling {

inline constexpr int plan_draws = 199;  // as many as there are permutations without a plan

// `marks`: the session's, from which it is known which readings are of the steps. An error, with
// the reason, where the plan has no seed, was edited after the draw, or the readings do not follow
// it.
[[nodiscard]] Result<PlannedStimuli> redraw_plan(const bench::Plan& plan, const SessionData& data,
                                                 const std::vector<StoredMark>& marks,
                                                 std::uint64_t seed);

}  // namespace foundling
