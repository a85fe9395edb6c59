// A table that keeps within the width of a terminal: aligned columns, a header line, two spaces
// between columns. What has no room stands beneath its row, so a table's first two columns are what
// a reader must see (the name and the verdict) and the others follow by importance.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "decoder/report/paragraph.h"

namespace foundling {

// Where a column goes that the line has no room for, it and all after it.
enum class NoRoom : std::uint8_t {
  beneath,   // under the row, "title cell"
  left_out,  // nowhere: the reader finds it elsewhere, and a last line says which are missing
  wrapped    // the last column only: broken at blanks, each line under the first
};

struct Column {
  std::string title;
  bool to_the_right = false;  // numbers
  NoRoom no_room = NoRoom::beneath;
};

class TextTable {
 public:
  // How a verdict is coloured; counts no width.
  using Paint = std::function<std::string(const std::string&)>;

  explicit TextTable(std::vector<Column> columns, std::size_t width = line_width)
      : columns_(std::move(columns)), width_(width) {}

  // As many cells as columns; `verdict` colours the second.
  void add(std::vector<std::string> cells, Paint verdict = {});
  // Lines of their own below the last row, indented, broken at blanks where too long.
  void add_line(std::string text);
  // Whole lines without trailing blanks. Widths count characters, not bytes, of UTF-8.
  [[nodiscard]] std::string text() const;

 private:
  struct Row {
    std::vector<std::string> cells;  // empty: `line` instead
    std::string line;
    Paint verdict;
  };
  struct Layout {
    std::vector<std::size_t> widths;
    std::size_t shown = 0;  // columns on the line
  };
  [[nodiscard]] Layout layout() const;
  [[nodiscard]] std::string row_text(const Row& row, const Layout& layout) const;
  [[nodiscard]] std::string beneath(const Row& row, const Layout& layout) const;
  [[nodiscard]] std::string missing(const Layout& layout) const;

  std::vector<Column> columns_;
  std::size_t width_;
  std::vector<Row> rows_;
};

}  // namespace foundling
