// Text in a cell of a CSV table that others open: shown (shown_text.h), in quotation marks where
// RFC 4180 wants them, and with an apostrophe before what a spreadsheet would take for a formula.
#pragma once

#include <string>
#include <string_view>

namespace foundling {

// Whether table_cell would change it.
[[nodiscard]] bool needs_care_in_cell(std::string_view text);
[[nodiscard]] std::string table_cell(std::string_view text);

// The same without quotation marks, for a table whose texts need none.
[[nodiscard]] std::string bare_cell(std::string_view text);

// Without the apostrophe that either put there.
[[nodiscard]] std::string_view without_guard(std::string_view cell);

}  // namespace foundling
