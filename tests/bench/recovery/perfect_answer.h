// The answer that the analyser would give if it knew the truth: for tests of the scorer, and to see
// that a board's truth is consistent with its frames.
#pragma once

#include "decoder/analysis/proposal.h"
#include "decoder/analysis/survey.h"
#include "tests/bench/recovery/random_board.h"

namespace foundling::recovery {

[[nodiscard]] Correlation perfect_answer(const RandomBoard& board);
[[nodiscard]] Survey perfect_survey(const RandomBoard& board);

}  // namespace foundling::recovery
