// How many bits a frame it takes to write a field down when the frame before is known: near 0 for a
// counter or a still byte, few for a measured value, the full width for a checksum.
#pragma once

#include "decoder/analysis/survey_rows.h"

namespace foundling {

// Of the rows that follow one another; 0 where there are none.
[[nodiscard]] double cost_a_frame(const SurveyRows& rows, const Span& span);

}  // namespace foundling
