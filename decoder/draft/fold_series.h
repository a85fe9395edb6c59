// Finds runs of look-alike signals (cell_01, cell_02, ...) whose pages and bits follow one formula,
// and writes each as one series. Signals that fit no run stay as they are.
#pragma once

#include <vector>

#include "schemas/signals/signal_map.h"

namespace foundling {

[[nodiscard]] std::vector<SignalEntry> fold_series(std::vector<SignalEntry> signals);

}  // namespace foundling
