// A table for a terminal: aligned columns, a header line, two spaces between columns.
#pragma once

#include <string>
#include <vector>

namespace foundling {

struct Column {
  std::string title;
  bool to_the_right = false;  // numbers
};

class TextTable {
 public:
  explicit TextTable(std::vector<Column> columns) : columns_(std::move(columns)) {}

  // As many cells as columns.
  void add(std::vector<std::string> cells);
  // A line of its own below the last row, indented, that does not widen any column.
  void add_line(std::string text);
  // Whole lines without trailing blanks. Widths count characters, not bytes, of UTF-8.
  [[nodiscard]] std::string text() const;

 private:
  struct Row {
    std::vector<std::string> cells;  // empty: `line` instead
    std::string line;
  };
  std::vector<Column> columns_;
  std::vector<Row> rows_;
};

}  // namespace foundling
