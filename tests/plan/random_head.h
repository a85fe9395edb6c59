// Random upper halves of bench plans, invented: limits of any size and sign, rests, leads, sets,
// jumps, ramps and grains, as far as they do not contradict each other.
#pragma once

#include <cstdint>

#include "decoder/bench/plan.h"

namespace foundling::bench {

[[nodiscard]] Plan random_head(std::uint64_t seed);

}  // namespace foundling::bench
