// Map to tree to text, for maps that a program makes.
#pragma once

#include <string>

#include "schemas/signals/document.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

[[nodiscard]] Document document_of(const SignalMap& map);
[[nodiscard]] Node node_of(const MessageEntry& message);
[[nodiscard]] Node node_of(const SignalEntry& entry);

// format(document_of(map)). Names and texts are brought onto one line of well-formed UTF-8.
[[nodiscard]] std::string write_signals(const SignalMap& map);

}  // namespace foundling
