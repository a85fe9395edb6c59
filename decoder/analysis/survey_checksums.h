// Checksums: cyclic redundancy checks, sums, exclusive-ors, and the J1939 message checksum. What is
// claimed has been recomputed on the frames and fits; a message that says too little to prove one
// yields none.
#pragma once

#include <optional>
#include <vector>

#include "decoder/analysis/survey.h"
#include "decoder/analysis/survey_rows.h"

namespace foundling {

// What copies explain is none. `groups` are fields (counters, a selector) that may pick a hidden
// constant of the checksum.
[[nodiscard]] std::vector<ChecksumFinding> survey_checksums(
    const SurveyRows& rows, CanId id, const std::vector<Span>& groups,
    const std::vector<CopyFinding>& copies = {});

}  // namespace foundling
