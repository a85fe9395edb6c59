// Two recordings held against each other, in sentences for a terminal and as JSON
// ("foundling-against", schemas/against.schema.json).
#pragma once

#include <string>
#include <string_view>

#include "decoder/against/against.h"
#include "decoder/report/survey_report.h"

namespace foundling {

struct AgainstSource {
  SurveySource a, b;
};

// The answer first, then one sentence for each message and kind of difference.
[[nodiscard]] std::string against_text(const Against& against, const AgainstSource& source,
                                       std::size_t width = line_width);
[[nodiscard]] std::string against_json(const Against& against, const AgainstSource& source);

// One difference in words, without its message: "comes every 40 ms in A, every 80 ms in B".
[[nodiscard]] std::string difference_words(const Difference& difference);

// The word for the kind, as JSON has it: "only-in-one", "period", ...
[[nodiscard]] std::string_view kind_word(DifferenceKind kind);

}  // namespace foundling
