// What a person most likely meant by a word that cannot stand where it does: suggestions for the
// parser's messages. Empty where nothing comes to mind.
#pragma once

#include <string>
#include <string_view>

namespace foundling {

// Characters that look like others: curly quotes, minus signs that are none, spaces that are none.
[[nodiscard]] std::string lookalike_hint(std::string_view source);

// A word from another habit where a keyword or a clause is expected: scale, dlc, //, <<<<<<<.
[[nodiscard]] std::string habit_hint(std::string_view word);

// A number with its unit glued on, or a fraction.
[[nodiscard]] std::string number_hint(std::string_view source);

// Bits written some other way than MSB..LSB.
[[nodiscard]] std::string span_hint(std::string_view source);

// A unit by its name instead of its sign.
[[nodiscard]] std::string unit_hint(std::string_view unit);

}  // namespace foundling
