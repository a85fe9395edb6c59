// Bits that never changed, as the longest runs in the order of the wire.
#pragma once

#include <vector>

#include "decoder/analysis/survey_rows.h"

namespace foundling {

// Nothing with fewer than two frames. A run longer than 64 bits is cut, because a span is at most
// that wide. Bytes that only some frames have count as constant if they never differed where they
// were there.
[[nodiscard]] std::vector<Span> survey_constants(const MessageSeries& message);

}  // namespace foundling
