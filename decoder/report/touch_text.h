// What answered to a touch, as sentences in a ranking: 60 columns, for a terminal in a narrow
// window.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "decoder/touch/answers.h"

namespace foundling {

// `states`: the words of state 0 and 1. Ends with a newline.
[[nodiscard]] std::string touch_text(const std::vector<touch::Answer>& answers,
                                     const std::array<std::string, 2>& states, int turns,
                                     bool with_bus);

}  // namespace foundling
