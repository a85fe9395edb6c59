// Did-you-mean: the word of a list that a mistyped one was most likely meant to be.
// Owns nothing; refuses to guess when nothing is near.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace foundling {

// How many letters have to be inserted, removed, replaced, or swapped with their neighbour.
[[nodiscard]] std::size_t edit_distance(std::string_view a, std::string_view b);

// The nearest of `known` within a third of the word's length (at least one edit), or one that the
// word is the beginning of. The earlier of two equally near ones; nothing for one or two letters.
[[nodiscard]] std::optional<std::string> nearest_word(std::string_view word,
                                                      std::span<const std::string> known);

}  // namespace foundling
