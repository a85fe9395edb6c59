// A field that equals another, up to scale and offset, while a bit is set, and leaves it while the
// bit is not: the voltage behind a switch and the pack's.
#pragma once

#include <span>
#include <vector>

#include "decoder/relate/looked_at.h"
#include "decoder/relate/state_bits.h"

namespace foundling::relate {

struct GatedRelation {
  std::size_t field = 0;
  std::size_t of = 0;
  std::size_t bit = 0;                 // index into the bits that were given
  bool while_set = true;               // else while the bit is clear
  std::vector<std::size_t> same_bits;  // that do about as well
  double factor = 0;                   // field = factor * of + constant, codes
  double constant = 0;
  double r2 = 0;            // of the field's differences over settled steps while they are equal
  std::size_t steps = 0;    // of these
  std::size_t turns = 0;    // runs while they are equal, each with one apart before or after it
  double chance_equal = 1;  // all fields and bits counted
  double chance_bit = 1;    // all bits and directions counted, for the pairs that were left
  double chance = 1;        // that either looks as good by accident: the sum of both
  bool strong = false;
};

// Best first, one for each field.
[[nodiscard]] std::vector<GatedRelation> find_gated(const LookedAt& seen,
                                                    std::span<const StateBit> bits);

}  // namespace foundling::relate
