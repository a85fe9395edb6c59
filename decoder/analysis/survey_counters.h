// Counters: fields that go on by the same step from frame to frame, modulo something.
// Any width of 2 to 32 bits, any place, either byte order, moduli that skip values, a few lost
// frames. The bits claimed are those that moved; the method is in the source.
#pragma once

#include <memory>
#include <vector>

#include "decoder/analysis/survey.h"
#include "decoder/analysis/survey_rows.h"

namespace foundling {

struct CounterSurvey {
  std::vector<CounterFinding> counters;
  std::vector<Span> clocks;  // grow by more than one at a time and never wrap: no counters
};

// Looked for more than once in the same rows, as other fields get known; what was counted is kept.
// The rows must outlive it.
class CounterSearch {
 public:
  explicit CounterSearch(const SurveyRows& rows);
  CounterSearch(CounterSearch&&) noexcept;
  CounterSearch& operator=(CounterSearch&&) noexcept;
  ~CounterSearch();

  [[nodiscard]] const Toggles& rates() const;  // of the rows
  // No counter has one of the `taken` bits.
  [[nodiscard]] CounterSurvey find(const BitMask& taken = {});

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace foundling
