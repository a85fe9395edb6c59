// A guessed layout as a person sees it before saying yes: what is in which column, how the first
// rows read by it, what is unsure.
#pragma once

#include <filesystem>
#include <string>

#include "tools/exchange/layout/layout_guess.h"

namespace foundling {

// With the first frames read by the layout; an error where they cannot be.
[[nodiscard]] Result<std::string> shown_guess(const std::filesystem::path& path,
                                              const FramesGuess& guess);

// "  column 2  "ID"  identifier, hex"; `heading` comes from the file.
[[nodiscard]] std::string column_line(std::size_t first, std::size_t last, std::string_view heading,
                                      const std::string& meaning);
// What is between the fields, the decimal sign, the lines before the first row.
[[nodiscard]] std::string table_line(const TableLayout& table);
[[nodiscard]] std::string time_words(LayoutTime unit);

}  // namespace foundling
