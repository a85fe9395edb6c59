// The code of a unit in the Unified Code for Units of Measure (UCUM 2.1, case-sensitive codes),
// which other programs read; ours (unit.h) is for people.
#pragma once

#include <string_view>

namespace foundling {

// "°C" -> "Cel", "Ah" -> "A.h"; any known spelling. Empty where the unit is not known, or none.
[[nodiscard]] std::string_view ucum_code(std::string_view unit);

}  // namespace foundling
