// The selector of a message: a field by whose value the rest of the payload has another layout.
// Found by how much less the other bits move when it is held at one value; only a field that is
// sent by a schedule (its next value follows from the last two) can be one, which keeps noise and
// slow signals out. The method is in the source.
#pragma once

#include <optional>

#include "decoder/analysis/survey.h"
#include "decoder/analysis/survey_rows.h"

namespace foundling {

// `owned` are bits that other findings explain (counters, checksums): they follow from the time or
// from the rest of the frame, so that their moving less says nothing about a layout. A selector may
// itself be one of the counters, but no part of a clock.
[[nodiscard]] std::optional<SelectorFinding> survey_selector(
    const SurveyRows& rows, const std::vector<CounterFinding>& counters,
    const std::vector<Span>& taken, const BitMask& owned);

}  // namespace foundling
