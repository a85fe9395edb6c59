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

// The words of codes that are no values: seen at a start-up only, and others.
inline constexpr const char* startup_word = "start-up";
inline constexpr const char* no_value_word = "not-available";

// At most `digits` significant digits, for a person.
[[nodiscard]] std::string rounded(double value, int digits);

}  // namespace foundling
