// Where a signal, or a member of a series, sits in the pack: all the words that the map has for it.
#pragma once

#include <cstdint>
#include <string>

#include "schemas/signals/signal_map.h"

namespace foundling {

// "module 3, third from the minus end"; empty where nothing is said. `n` is ignored for a signal.
[[nodiscard]] std::string where_of(const SignalEntry& entry, std::int64_t n);

}  // namespace foundling
