// The one door for text that came from a file, a bus or a network and goes to a person: terminal,
// metrics page, topic, table, HTML page. What would not show itself (control characters of
// both sets, marks that turn or hide text, line separators, bytes that are no UTF-8) is written out
// as \u001b or \xff. For eyes: it is not turned back, so a backslash is left as it is.
#pragma once

#include <string>
#include <string_view>

namespace foundling {

// Whether the character shows itself and leaves its neighbours where they are.
[[nodiscard]] bool shows_itself(char32_t character);

// On one line: line ends and tabs are written out too. In JSON's spelling, a pair of surrogates
// beyond U+FFFF, so that a string of JSON still reads the same.
[[nodiscard]] std::string shown(std::string_view text);

// A message of several lines: line feeds and tabs stay.
[[nodiscard]] std::string shown_lines(std::string_view text);

}  // namespace foundling
