// Whether a field is sent by a schedule: it changes often, and what it changes to follows from the
// two values before. A page index does; a noisy or slow signal does not.
#pragma once

#include <vector>

#include "decoder/analysis/survey_rows.h"

namespace foundling {

struct Scheduled {
  Span span;
  std::size_t values = 0;  // different values seen
  double foretold = 0;     // share of its changes that the two values before foretold
};

// Every scheduled field of 1 to 8 bits whose end bits move.
[[nodiscard]] std::vector<Scheduled> scheduled_fields(const SurveyRows& rows);

}  // namespace foundling
