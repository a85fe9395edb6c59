// Whether one field counts: by which step, modulo what, and how much shorter the recording becomes
// by saying so.
#pragma once

#include <cstdint>
#include <optional>

#include "decoder/analysis/survey_rows.h"

namespace foundling {

inline constexpr std::size_t least_counted_pairs = 19;

struct Count {
  std::int64_t step = 0;
  std::uint64_t modulus = 0;
  bool wrapped = false;
  double share = 0;  // of the pairs of neighbouring rows that go on by the step
  double gain = 0;   // bits saved against writing down each bit's changes by themselves
};

// Nothing where too few pairs are one step (or one wrap) apart, where values repeat, or where the
// exceptions are not what lost frames make. `rates` are of the same rows.
[[nodiscard]] std::optional<Count> count_of(const SurveyRows& rows, const Span& span,
                                            const Toggles& rates);
// The upper bits of a value that grows by an uneven amount count nearly evenly; these do so.
[[nodiscard]] bool is_top_of_a_ramp(const SurveyRows& rows, const Span& span, const Count& count);

}  // namespace foundling
