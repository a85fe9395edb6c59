// How long the steps of a plan take: the hand's time for every setting, the way at the ramp's pace,
// then the hold. Seconds.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "decoder/bench/plan.h"

namespace foundling::bench {

// What every numeric channel stands at, member by member, in its own unit.
using Standing = std::map<std::string, double, std::less<>>;

[[nodiscard]] Standing at_rest(const Plan& plan);
// Carries a step out and says how long its settings take, the hold not included. Settings with a
// unit or a channel that does not fit are passed over.
double carry_out(const Plan& plan, const Step& step, Standing& standing);

[[nodiscard]] double plan_seconds(const Plan& plan);

}  // namespace foundling::bench
