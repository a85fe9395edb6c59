// The part of verify_map (verify.h) about one signal: its codes, table, page and members.
#pragma once

#include <string>
#include <vector>

#include "schemas/signals/document.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

// Whether every member has a place, whatever else was reported.
[[nodiscard]] bool verify_signal(const Node& node, const MessageEntry& message,
                                 const SignalEntry& entry, std::vector<Diagnostic>& diagnostics);

// Whether a raw code can occur in a field of that width.
[[nodiscard]] bool code_fits(std::uint64_t code, int width);

// The bytes that its fields may use: its length, or the most that its kind of message can have.
[[nodiscard]] int bytes_of(const MessageEntry& message);

// For a byte that the message does not have: sheets often count from 1.
[[nodiscard]] std::string byte_hint(int bytes);

// The child of a signal's node that says its bits.
[[nodiscard]] const Node& bits_of(const Node& signal);

}  // namespace foundling
