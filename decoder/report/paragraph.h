// A sentence broken into lines for a terminal, at blanks only. A word longer than a line has one of
// its own.
#pragma once

#include <string>
#include <string_view>

namespace foundling {

// Of a terminal of which nothing else is known, and of what goes into a file or a pipe.
inline constexpr std::size_t line_width = 80;

// Every line begins with `indent` blanks, those after the first with `hanging` more, and ends with
// a newline. `width` counts characters of UTF-8, the indent among them.
[[nodiscard]] std::string paragraph(std::string_view text, std::size_t indent,
                                    std::size_t width = line_width, std::size_t hanging = 2);

// Each line of `lines` a paragraph with the indent that it has.
[[nodiscard]] std::string paragraphs(std::string_view lines, std::size_t width = line_width);

}  // namespace foundling
