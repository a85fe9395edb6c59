// Figures of several families as a table for the terminal, with targets, and as JSON text.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "tests/bench/recovery/score.h"

namespace foundling::recovery {

using FamilyFigures = std::vector<std::pair<std::string, Figures>>;

enum class Part { all, survey };  // which columns

[[nodiscard]] std::string figures_table(const FamilyFigures& families, Part part);
[[nodiscard]] std::string figures_json(const FamilyFigures& families, Part part);

}  // namespace foundling::recovery
