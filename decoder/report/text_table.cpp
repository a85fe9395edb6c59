#include "decoder/report/text_table.h"

#include <algorithm>
#include <utility>

#include "schemas/values/utf8.h"

namespace foundling {
namespace {

void add_line_to(std::string& text, std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  text += line + '\n';
}

}  // namespace

void TextTable::add(std::vector<std::string> cells) {
  cells.resize(columns_.size());
  rows_.push_back({std::move(cells), {}});
}

void TextTable::add_line(std::string text) { rows_.push_back({{}, std::move(text)}); }

std::string TextTable::text() const {
  std::vector<std::size_t> widths;
  std::vector<std::string> titles;
  for (const Column& column : columns_) {
    widths.push_back(characters(column.title));
    titles.push_back(column.title);
  }
  for (const Row& row : rows_) {
    for (std::size_t c = 0; c < row.cells.size(); ++c) {
      widths[c] = std::max(widths[c], characters(row.cells[c]));
    }
  }
  const auto laid_out = [&](const std::vector<std::string>& cells) {
    std::string line;
    for (std::size_t c = 0; c < cells.size(); ++c) {
      const std::string blanks(widths[c] - characters(cells[c]), ' ');
      line += (c == 0 ? "" : "  ");
      line += columns_[c].to_the_right ? blanks + cells[c] : cells[c] + blanks;
    }
    return line;
  };
  std::string result;
  add_line_to(result, laid_out(titles));
  for (const Row& row : rows_) {
    add_line_to(result, row.cells.empty() ? "    " + row.line : laid_out(row.cells));
  }
  return result;
}

}  // namespace foundling
