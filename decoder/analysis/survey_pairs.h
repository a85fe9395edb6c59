// How often each bit of a message changes, or is foretold wrongly, over chosen pairs of rows.
#pragma once

#include "decoder/analysis/survey_rows.h"

namespace foundling {

struct Pairs {
  BitTally tally;
  std::uint64_t pairs = 0;

  void add(const SurveyRows& rows, std::size_t a, std::size_t b);
  [[nodiscard]] double rate(int index) const {
    return pairs == 0 ? 0 : static_cast<double>(tally.count(index)) / static_cast<double>(pairs);
  }
  [[nodiscard]] double variance(int index) const;  // of the rate; never quite zero
};

// Rows from..to, less those that do not follow the row before.
struct Stretch {
  std::size_t from = 0;
  std::size_t to = 0;
};

[[nodiscard]] Pairs neighbours(const SurveyRows& rows, Stretch stretch);
// Each row against what the two rows before it lead to, x = 2 x' - x'': the whole payload is taken
// as one number, low byte first or high byte first. All fields of that order are then carried on
// along their ramps at once, but for a carry of one from the field below.
[[nodiscard]] Pairs carried_on(const SurveyRows& rows, Stretch stretch, ByteOrder order);
// Pairs of rows with the same value of the field (up to 8 bits), next to each other among those.
[[nodiscard]] Pairs held(const SurveyRows& rows, Stretch stretch, const Span& field);
// Pairs that `coarse` puts together and `fine` keeps apart.
[[nodiscard]] Pairs mixed(const SurveyRows& rows, const Span& coarse, const Span& fine);

}  // namespace foundling
