// A sentence broken into lines for a terminal, at blanks only. A word longer than a line has one of
// its own.
#pragma once

#include <string>
#include <string_view>

namespace foundling {

// Every line begins with `indent` blanks, those after the first with two more, and ends with a
// newline. `width` counts characters of UTF-8, the indent among them.
[[nodiscard]] std::string paragraph(std::string_view text, std::size_t indent,
                                    std::size_t width = 100);

}  // namespace foundling
