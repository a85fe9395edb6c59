// Judges pairs of bench and signal: the figures of a check, and what they say. Used by check.cpp.
//
// Readings that are off by more than passes, from the middle of the errors, are slips as long as
// they are few; the others make the figures. Then, in this order:
//   not tested  fewer plateaus or readings than needed, or levels
//   fail        the errors are larger than the tolerance, even where its upper end is left away
//   fail        the gain lies outside its limits with all of its 95 % interval
//   not tested  the levels are too close together: the gain's 95 % interval is wider than its
//   limits not tested  the signal's steps are too coarse for the range: the errors lie between both
//               tolerances
//   pass
#pragma once

#include "decoder/decode/check.h"
#include "decoder/decode/check_pairs.h"

namespace foundling {

// Fills in the figures and the verdict. `step`: of the raw value, in the signal's unit. `words`:
// how many the channel had, if it is a state.
void judge(SignalCheck& check, const Pairs& pairs, bool hold, double step, std::size_t words,
           const CheckOptions& options);

// The 97.5 % point of Student's t, by Abramowitz and Stegun 26.7.5.
[[nodiscard]] double student(double degrees_of_freedom);

}  // namespace foundling
