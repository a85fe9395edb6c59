// One proposal as a signal entry, with its evidence in words.
#pragma once

#include <string>

#include "decoder/analysis/proposal.h"
#include "decoder/draft/draft_map.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

// `selector` names the selector of the proposal's page; unused without one.
[[nodiscard]] SignalEntry draft_signal(const Proposal& proposal, const std::string& selector,
                                       const DraftSource& source);

// At most `digits` significant digits, for a person.
[[nodiscard]] std::string rounded(double value, int digits);

}  // namespace foundling
