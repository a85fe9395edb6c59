// Bits that stand for a state: such as flip now and then, each by itself or with few others, and
// are no part of a number that was found.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/relate/looked_at.h"

namespace foundling::relate {

struct StateBit {
  FieldPlace place;
  std::size_t field = 0;             // whose bit it is
  Track track;                       // 0 or 1 as sent last, not a number where nothing was
  std::vector<std::uint32_t> flips;  // windows that are the first to end otherwise

  [[nodiscard]] bool becomes_set(std::size_t flip) const { return track[flips[flip]] == 1; }
};

[[nodiscard]] std::vector<StateBit> state_bits(const LookedAt& seen,
                                               std::span<const MessageSeries> messages);

// Windows of the run that a flip begins, and of the one that it ends.
[[nodiscard]] std::size_t run_end(const StateBit& bit, std::size_t flip);
[[nodiscard]] std::size_t run_before(const StateBit& bit, std::size_t flip);

}  // namespace foundling::relate
