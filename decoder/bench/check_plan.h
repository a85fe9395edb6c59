// Whether a plan contradicts itself: a value beyond its channel's limits, a unit that does not fit,
// a step further than `jump`, a hold shorter than the settling, channels on one lead that part, a
// channel nobody declared, steps out of order. Owns nothing.
#pragma once

#include <string>
#include <vector>

#include "decoder/bench/plan.h"

namespace foundling::bench {

// Errors, and warnings for what a person may want all the same (longer than `at-most`). Places are
// those of the text that the plan was read from.
[[nodiscard]] std::vector<Diagnostic> check_plan(const Plan& plan);

}  // namespace foundling::bench
