// Where a field is when a bit flips, and the way on which it passes there.
#pragma once

#include <cstddef>
#include <vector>

#include "decoder/relate/state_bits.h"

namespace foundling::relate {

struct Crossing {
  bool sets = false;  // the bit; else clears it
  double code = 0;    // the field's, in the window of the flip
  double width = 0;   // how far apart those before and after are, errors included
  double from = 0;    // its far end in the run before, on the side that such a flip comes from
  double to = 0;      // and in the run after

  [[nodiscard]] double way() const { return sets ? to - from : from - to; }
};

// Of a bit that is set while the field is above. `delay`: windows by which the bit comes later.
[[nodiscard]] std::vector<Crossing> crossings_of(const Track& codes, const StateBit& bit,
                                                 std::size_t delay, double error);

}  // namespace foundling::relate
