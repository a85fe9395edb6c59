// A map held against the strongest sum that its board's frames show: which of its signals cannot be
// right if the members add up to the total. Pure.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "decoder/relate/relate.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

struct RelationDoubts {
  bool has_sum = false;             // a strong one; without it nothing can be said
  std::size_t compared = 0;         // members that the map has a signal for
  std::size_t missing = 0;          // members that it has none for
  std::vector<std::string> doubts;  // sentences, each with its signal
};

[[nodiscard]] RelationDoubts relation_doubts(const relate::Relations& found, const SignalMap& map);

}  // namespace foundling
