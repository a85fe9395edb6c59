// Text to tree: every line read, faults collected, reading resumed at the next line. Says nothing
// about whether the lines make sense together: build.h and verify.h do.
#pragma once

#include <string_view>
#include <vector>

#include "schemas/signals/document.h"

namespace foundling {

// What a map of any size may cost is bounded: lines that are kept, also with series spread out.
inline constexpr std::size_t most_lines = 65'536;

struct Parsed {
  Document document;  // without the lines that have faults
  std::vector<Diagnostic> diagnostics;
};

[[nodiscard]] Parsed parse_document(std::string_view text);

}  // namespace foundling
