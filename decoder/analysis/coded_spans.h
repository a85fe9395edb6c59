// Bits of a message that read as numbers in a code of their own, whatever they say: IEEE 754,
// decimal digits, or a sign and a magnitude. What reads better so than as binary numbers is put
// forward; which channel it follows, and whether better than a binary field does, is for the
// search.
#pragma once

#include <vector>

#include "decoder/analysis/bit_matrix.h"
#include "decoder/analysis/coding.h"

namespace foundling {

struct CodedSpan {
  Span span;
  Coding coding = Coding::natural;
};

// `owned`, `moving`: of each bit, whether it is a counter's, checksum's or selector's, and whether
// it moves. Looks at 2,000 frames at most, evenly taken.
[[nodiscard]] std::vector<CodedSpan> coded_spans(const BitMatrix& bits,
                                                 const std::vector<bool>& owned,
                                                 const std::vector<bool>& moving);

}  // namespace foundling
