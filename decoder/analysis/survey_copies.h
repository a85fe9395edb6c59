// Bytes that always say the same as others of the message: one value sent twice, or two that never
// differed in this recording (the wheels of a car that stands). An exclusive-or over both is
// constant, so they would pass for a check code that they are not.
#pragma once

#include <vector>

#include "decoder/analysis/survey.h"
#include "decoder/analysis/survey_rows.h"

namespace foundling {

// The longest runs of bytes, first before second; each of them takes eight values at least, and
// a byte belongs to one pair of runs only.
[[nodiscard]] std::vector<CopyFinding> survey_copies(const SurveyRows& rows);

// Whether the checksum is an exclusive-or of bytes that cancel each other as copies.
[[nodiscard]] bool is_explained(const ChecksumFinding& checksum,
                                const std::vector<CopyFinding>& copies, const BitMask& moved);

}  // namespace foundling
