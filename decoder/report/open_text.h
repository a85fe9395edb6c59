// What a search leaves open, for a terminal: the channels without a strong answer, and the readings
// that do not fit. Only a line that is to be pasted may be longer than `width`.
#pragma once

#include <string>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/report/paragraph.h"
#include "decoder/report/unfit_reading.h"

namespace foundling {

// Both begin with a line that says what follows, and are empty where there is nothing.
[[nodiscard]] std::string unanswered_text(const std::vector<Unanswered>& channels, bool with_bus,
                                          std::size_t width = line_width);
[[nodiscard]] std::string unfit_text(const Correlation& correlation, const ReadingsOf& readings,
                                     std::size_t width = line_width);

// "1B0 4.7..3.0, 5 of 12 levels agree"
[[nodiscard]] std::string nearest_words(const Unanswered::Nearest& nearest, bool with_bus);

}  // namespace foundling
