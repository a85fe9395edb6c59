// Which of a field's top bits, that stayed still in one session, move in another that goes from
// one value to another. Beyond either end of what the moving bits can hold the next bit flips; also
// where that lies below raw 0, if the field is two's complement after all. Pure.
#pragma once

#include <optional>

#include "decoder/analysis/proposal.h"

namespace foundling {

struct UntestedBits {
  int moved = 0;         // of them, from the lowest one on, how many are sure to move
  int still = 0;         // the others
  bool by_sign = false;  // and that only if the field is two's complement, which was not seen
  std::optional<double> above;  // the lowest of `still`, or of all where none is, moves beyond this
  std::optional<double> below;  // value or below this one; nothing where there is no such value
};

// `stood`: a value that the channel had in the session that was searched. `low` and `high`: between
// which the next one goes, both ends set to within `grain`. All in the proposal's unit.
[[nodiscard]] UntestedBits untested_bits(const Proposal& p, double stood, double low, double high,
                                         double grain);

}  // namespace foundling
