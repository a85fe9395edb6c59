// How a table of another program is laid out, as far as frames and readings have it in common:
// what is between the fields, how decimals are written, where and in which unit the time stands.
// Columns are counted from 1, as a person counts them.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/values/result.h"
#include "tools/exchange/decimal_seconds.h"

namespace foundling {

enum class LayoutTime { s, ms, us, ns, date };

struct TableLayout {
  char separator = ',';
  char decimal = '.';
  std::size_t skip = 1;  // lines before the first row: headings, notes
  std::size_t time = 0;  // 0: not said
  LayoutTime unit = LayoutTime::s;
};

// What is said of one column or of the whole table: "time 1 ms" as its words.
using LayoutItem = std::vector<std::string>;

// "separator semicolon, decimal comma, time 1 ms" as items; blanks and commas between them.
[[nodiscard]] std::vector<LayoutItem> layout_items(std::string_view text);
[[nodiscard]] Error layout_error(const LayoutItem& item, const std::string& expected);

// Takes what is about the whole table; false: it is about something else.
Result<bool> take_table_item(const LayoutItem& item, TableLayout& layout);
// A column's number; `taken` keeps it from being said twice.
Result<std::size_t> layout_column(const LayoutItem& item, std::string_view word,
                                  std::vector<std::size_t>& taken);
[[nodiscard]] Result<void> check_table_layout(const TableLayout& layout);

[[nodiscard]] std::string table_layout_words(
    const TableLayout& layout);  // as layout_items reads it
[[nodiscard]] std::string_view to_string(LayoutTime unit);
[[nodiscard]] std::string_view separator_word(char separator);

// A time of the table on the file's own clock, exactly; a date counts from 1970, as UTC.
[[nodiscard]] std::optional<DecimalSeconds> layout_time(std::string_view text,
                                                        const TableLayout& layout);
// What is expected of such a time, for an error.
[[nodiscard]] std::string time_expected(LayoutTime unit);
// A number of the table with a point for decimals, as parse_number takes it.
[[nodiscard]] std::string pointed(std::string_view number, char decimal);

}  // namespace foundling
