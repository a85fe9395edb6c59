// What a board says of a group besides its sum: the lowest and the highest member, their
// difference, and which member that is. Followed over settled windows.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "decoder/relate/looked_at.h"

namespace foundling::relate {

enum class ExtremeKind : std::uint8_t {
  lowest,
  highest,
  spread,
  number_of_lowest,
  number_of_highest
};

struct ExtremeRelation {
  ExtremeKind kind = ExtremeKind::lowest;
  std::size_t field = 0;
  double factor = 0;    // field = factor * extreme + constant; of a number: 1
  double constant = 0;  // of a number: what the first member in order of the bus is called
  double r2 = 0;        // of a number: share of the windows that agree
  std::size_t steps = 0;
  double chance = 1;
  bool strong = false;
};

[[nodiscard]] std::vector<ExtremeRelation> find_extremes(const LookedAt& seen,
                                                         std::span<const MessageSeries> messages,
                                                         const std::vector<std::size_t>& members,
                                                         const std::vector<std::size_t>& taken);

}  // namespace foundling::relate
