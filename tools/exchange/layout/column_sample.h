// What the first rows of another program's table are like, column by column: the ground that a
// guess of its layout stands on.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/values/result.h"
#include "tools/exchange/layout/table_layout.h"

namespace foundling {

struct ColumnSample {
  std::string heading;              // as the file has it; may be empty
  std::vector<std::string> fields;  // one a row, empty where the row is shorter

  // Over the fields that are not empty; false where all are.
  [[nodiscard]] bool are_numbers(char decimal) const;
  [[nodiscard]] bool are_whole() const;  // digits alone
  [[nodiscard]] bool are_hex() const;    // with or without 0x
  [[nodiscard]] bool are_dates() const;
  [[nodiscard]] bool any_empty() const;
  [[nodiscard]] bool any_letter() const;       // A to F behind a prefix, where they are hex
  [[nodiscard]] bool any_prefix() const;       // 0x
  [[nodiscard]] std::size_t shortest() const;  // digits, without a prefix
  [[nodiscard]] std::size_t longest() const;
  [[nodiscard]] std::size_t different() const;
};

struct TableSample {
  TableLayout table;  // separator, decimal sign and lines to skip; not the time
  std::vector<ColumnSample> columns;
  std::size_t rows = 0;
};

// From the first lines of the file. An error: they are no table of numbers.
[[nodiscard]] Result<TableSample> sample_table(const std::filesystem::path& path);

}  // namespace foundling
