// What the search found, as a table for a terminal and as JSON ("foundling-proposals",
// schemas/proposals.schema.json), which can be read again.
#pragma once

#include <string>
#include <string_view>

#include "decoder/analysis/proposal.h"
#include "decoder/report/paragraph.h"
#include "schemas/values/result.h"

namespace foundling {

// One row a proposal, alternatives after the best one, with its notes; then the channels without a
// strong answer, the readings that do not fit, and the advice. `capture`: the file that was
// searched, as it was typed, for lines to paste; without it under the name in the proposals.
[[nodiscard]] std::string proposals_text(const Correlation& correlation,
                                         const std::string& capture = {},
                                         std::size_t width = line_width);
[[nodiscard]] std::string proposals_json(const Correlation& correlation,
                                         const std::string& capture = {});

// Without loss. An error names `name`, the file's, and the place: line and column where it is no
// JSON, else the path of the member ("proposals[2].scale").
[[nodiscard]] Result<Correlation> proposals_from_json(std::string_view text,
                                                      const std::string& name);

[[nodiscard]] std::string_view to_string(Verdict verdict);
// "plain" where the proposal's flags for sign and float say it all.
[[nodiscard]] std::string_view to_string(Coding coding);

}  // namespace foundling
