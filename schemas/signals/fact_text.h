// The one way to write a fact: keywords, order of clauses, quotes and numbers.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "schemas/signals/fact.h"

namespace foundling {

[[nodiscard]] std::string to_text(const fact::Fact& fact);  // one line, without indentation

// The shortest decimal text that reads back as the same double.
[[nodiscard]] std::string shortest(double value);
// As it is, or in quotes where it has anything but letters, digits, '_', '-' and '.'.
[[nodiscard]] std::string quoted_if_needed(std::string_view text);

}  // namespace foundling
