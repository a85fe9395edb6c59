// Readings of a state channel that its field contradicts all the time they are said to hold.
#pragma once

#include <vector>

#include "decoder/analysis/state_search.h"
#include "decoder/analysis/state_stretches.h"

namespace foundling {

[[nodiscard]] std::vector<OddState> odd_states(const Stream& stream,
                                               const StateCandidate& candidate,
                                               const Stretches& stretches);

}  // namespace foundling
