// A text as one word of a command line that a person copies into a shell.
#pragma once

#include <string>
#include <string_view>

namespace foundling {

// In single quotes where it needs them.
[[nodiscard]] std::string shell_word(std::string_view text);

}  // namespace foundling
