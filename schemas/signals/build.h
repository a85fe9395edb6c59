// Tree to map: what the lines say together, and where they contradict each other in form (two
// `bits` in one signal, a signal without any).
#pragma once

#include <vector>

#include "schemas/signals/document.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

struct Built {
  SignalMap map;
  std::vector<Diagnostic> diagnostics;
};

[[nodiscard]] Built build_map(const Document& document);

// One signal of a tree; nothing for a node that is no signal or series. For the merge.
[[nodiscard]] SignalEntry build_signal(const Node& node, std::vector<Diagnostic>& diagnostics);

}  // namespace foundling
