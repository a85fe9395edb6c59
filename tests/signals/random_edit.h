// Random edits of a map's tree, as a person would make them, for the merge's property tests.
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "schemas/signals/document.h"
#include "tests/signals/random_map.h"

namespace foundling {

// How many random cases a property is tried with: `usual`, or what the environment variable
// FOUNDLING_RANDOM_MAPS says.
[[nodiscard]] std::uint64_t random_cases(std::uint64_t usual);

// A few edits: numbers and words changed, lines and comments added or deleted, signals confirmed,
// renamed, added, deleted, moved. Only signals that `mine` accepts are touched (by their running
// number in the file). The result is a map without faults; where an edit would bring one, it is
// not made.
// `moves`: whether signals may also change places with the line above.
[[nodiscard]] Document edited(const Document& document, Random& random,
                              const std::function<bool(std::size_t)>& mine, bool moves = true);

// Whether its text has no faults and reads as the same tree.
[[nodiscard]] bool reads_back(const Document& document);

// Every comment line and every comment behind a line.
[[nodiscard]] std::vector<std::string> comments_of(const Document& document);

}  // namespace foundling
