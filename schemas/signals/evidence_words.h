// Words that evidence begins with, where other steps go by them.
#pragma once

#include <string_view>

#include "schemas/signals/signal_map.h"

namespace foundling {

// Of a signal that follows from a relation among fields: weaker than a stimulus.
inline constexpr std::string_view by_relation_word = "by relation";
// Of a signal that the readings of another session bear out; it was not made from that session.
inline constexpr std::string_view checked_word = "checked against readings";

// Proposed, and nothing but relations speak for it.
[[nodiscard]] bool only_by_relation(const SignalEntry& entry);

}  // namespace foundling
