// What the search found, as a table for a terminal and as JSON ("foundling-proposals",
// schemas/proposals.schema.json).
#pragma once

#include <string>

#include "decoder/analysis/proposal.h"

namespace foundling {

// One row a proposal, alternatives after the best one; then the notes, then the advice.
[[nodiscard]] std::string proposals_text(const Correlation& correlation);
[[nodiscard]] std::string proposals_json(const Correlation& correlation);

[[nodiscard]] std::string_view to_string(Verdict verdict);

}  // namespace foundling
