// Figures of several families as tables for the terminal, with targets, and as JSON text.
#pragma once

#include <string>

#include "tests/bench/recovery/columns.h"

namespace foundling::recovery {

// A line a family, then all together; below it the family that does worst, column by column.
[[nodiscard]] std::string figures_table(const FamilyFigures& families, Part part);

// Where the truth falls in the stated intervals, family by family.
[[nodiscard]] std::string ranks_table(const FamilyFigures& families);

[[nodiscard]] std::string figures_json(const FamilyFigures& families, Part part);

}  // namespace foundling::recovery
