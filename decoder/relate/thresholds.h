// A bit that is set just while a field is beyond a threshold, with or without hysteresis: a
// temperature and its warning, a voltage and its cut-off.
#pragma once

#include <span>
#include <vector>

#include "decoder/relate/looked_at.h"
#include "decoder/relate/pairs.h"
#include "decoder/relate/state_bits.h"

namespace foundling::relate {

struct ThresholdRelation {
  std::size_t bit = 0;  // index into the bits that were given
  std::size_t field = 0;
  bool above = true;          // set while the field is above; else below
  double sets_at = 0;         // the field's code, in the middle of the crossings
  double clears_at = 0;       // likewise
  double delay_s = 0;         // the bit comes after the field
  std::size_t crossings = 0;  // that count: the field passed the threshold on a longer way
  std::size_t others = 0;     // other fields that do nearly as well
  double share_fits = 0;  // how much better one code fits than one share of each way; 1: no better
  double chance = 1;
  bool strong = false;
};

// Best first, one for each bit. `pairs`: a copy of the field is the same quantity.
[[nodiscard]] std::vector<ThresholdRelation> find_thresholds(const LookedAt& seen,
                                                             std::span<const StateBit> bits,
                                                             std::span<const PairRelation> pairs);

}  // namespace foundling::relate
