// What the search found, as a table for a terminal and as JSON ("foundling-proposals",
// schemas/proposals.schema.json), which can be read again.
#pragma once

#include <string>
#include <string_view>

#include "decoder/analysis/proposal.h"
#include "schemas/values/result.h"

namespace foundling {

// One row a proposal, alternatives after the best one; then the notes, then the advice.
[[nodiscard]] std::string proposals_text(const Correlation& correlation);
[[nodiscard]] std::string proposals_json(const Correlation& correlation);

// Without loss. An error names `name`, the file's, and the place: line and column where it is no
// JSON, else the path of the member ("proposals[2].scale").
[[nodiscard]] Result<Correlation> proposals_from_json(std::string_view text,
                                                      const std::string& name);

[[nodiscard]] std::string_view to_string(Verdict verdict);

}  // namespace foundling
