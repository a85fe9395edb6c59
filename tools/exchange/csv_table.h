// A comma-separated table with a header of known columns, in any order. Refuses a column it does
// not know, a missing or doubled one, and a row with too few or too many fields, all with the
// place.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/values/result.h"
#include "tools/exchange/text_lines.h"

namespace foundling {

// `file:line:column: error: expected X, found Y`, the line and a caret under the field.
[[nodiscard]] Error table_error(const std::string& file, std::uint64_t number,
                                std::string_view line, std::string_view field,
                                const std::string& problem);

// A field in quotation marks, cut to a readable length and without control characters: a hostile
// file must not upset the terminal. `found_field` puts ", found " before it.
[[nodiscard]] std::string quoted_field(std::string_view field);
[[nodiscard]] std::string found_field(std::string_view field);

class CsvTable {
 public:
  static constexpr std::size_t most_columns = 8;

  struct Columns {
    std::span<const std::string_view> names;  // at most most_columns
    std::size_t required;                     // the first so many must be there
  };

  // Reads the header.
  static Result<CsvTable> open(const std::filesystem::path& path, const Columns& columns);

  // The fields of the next row in the order of Columns::names, empty where an optional column is
  // not in the file; valid until the next call. Nothing at the end. Empty lines at the end pass.
  using Row = std::array<std::string_view, most_columns>;
  Result<std::optional<Row>> next();

  // An error at a field of the last row.
  [[nodiscard]] Error error(std::string_view field, const std::string& problem) const;
  [[nodiscard]] std::uint64_t line_number() const { return lines_.number(); }

 private:
  explicit CsvTable(TextLines lines) : lines_(std::move(lines)) {}
  Result<void> read_header(const Columns& columns);
  Result<std::optional<Row>> check_rest_is_empty();

  TextLines lines_;
  std::string_view line_;
  std::size_t width_ = 0;                          // columns in the file
  std::array<std::size_t, most_columns> place_{};  // name's index of the file's n-th column
};

}  // namespace foundling
