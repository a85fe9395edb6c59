// What a board sends while it has no measurement: at its start, in bursts, for long, after a reset,
// at a brown-out. Put into the messages ahead of their frames.
#pragma once

#include <vector>

#include "tests/bench/recovery/family.h"
#include "tests/bench/recovery/layout.h"

namespace foundling::recovery {

// Changes nothing for families that are not disturbed by the board.
void disturb_messages(Family family, double duration_s, const std::vector<Quantity>& quantities,
                      std::vector<MessageSpec>& messages, Rng& rng);

}  // namespace foundling::recovery
