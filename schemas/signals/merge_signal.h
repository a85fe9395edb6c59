// How one found signal meets one that the map has: the decisions of the merge (merge.h), apart from
// where they are carried out.
#pragma once

#include <optional>
#include <string>

#include "schemas/signals/document.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

// Same bits, page and encoding. Selectors are compared by name.
[[nodiscard]] bool same_place(const SignalEntry& a, const SignalEntry& b);

// Same place, scale within 1 %, offset within two steps and 1 %, no code with two words.
[[nodiscard]] bool agrees(const SignalEntry& map, const SignalEntry& found);

// One line with place and figures, for a comment.
[[nodiscard]] std::string figures(const SignalEntry& entry);

// The signal's lines brought up to date: found facts replace those of their kind, lines of kinds
// that were not found stay, notes and evidence are added to, comments keep their places.
[[nodiscard]] Node updated(const Node& node, const SignalEntry& found);

// Evidence that is not there yet; evidence of the same session is replaced where `replace` is set.
void add_evidence(Node& node, const SignalEntry& found, bool replace);

// Adds a comment line below a message, signal or series unless it has it already; says whether.
bool add_comment(Node& node, const std::string& text);

// Member n of a series as a signal of its own.
[[nodiscard]] std::optional<SignalEntry> member_of(const MessageEntry& message,
                                                   const SignalEntry& series, std::int64_t n);

}  // namespace foundling
