#include "decoder/report/text_table.h"

#include <algorithm>
#include <utility>

#include "schemas/values/utf8.h"

namespace foundling {
namespace {

constexpr std::size_t between = 2;          // blanks between columns
constexpr std::size_t always_shown = 2;     // columns: the name and the verdict
constexpr std::size_t narrowest_wrap = 24;  // below that a wrapped column is a ladder of words
constexpr std::size_t under_a_row = 4;      // blanks before what belongs to the row above

// A longer name has a line of its own, so that it does not push the verdict out.
std::size_t longest_name(std::size_t width) { return width * 2 / 5; }

std::string without_trailing_blanks(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line;
}

std::string joined(const std::string& list, const std::string& more, const char* separator) {
  return list.empty() ? more : list + separator + more;
}

// `text` in lines of `width`, every one but the first moved `at` to the right.
std::string wrapped(const std::string& text, std::size_t at, std::size_t width) {
  const std::string lines = paragraph(text, 0, width, 0);
  std::string out;
  for (std::size_t begin = 0; begin < lines.size();) {
    const std::size_t end = lines.find('\n', begin);
    if (begin > 0) out += '\n' + std::string(at, ' ');
    out += lines.substr(begin, end - begin);
    begin = end + 1;
  }
  return out;
}

}  // namespace

void TextTable::add(std::vector<std::string> cells, Paint verdict) {
  cells.resize(columns_.size());
  rows_.push_back({std::move(cells), {}, std::move(verdict)});
}

void TextTable::add_line(std::string text) { rows_.push_back({{}, std::move(text), {}}); }

TextTable::Layout TextTable::layout() const {
  Layout found;
  for (const Column& column : columns_) found.widths.push_back(characters(column.title));
  for (const Row& row : rows_) {
    for (std::size_t c = 0; c < row.cells.size(); ++c) {
      const std::size_t wide = characters(row.cells[c]);
      if (c == 0 && wide > longest_name(width_)) continue;
      found.widths[c] = std::max(found.widths[c], wide);
    }
  }
  std::size_t line = 0;
  for (; found.shown < columns_.size(); ++found.shown) {
    std::size_t wide = found.widths[found.shown];
    if (columns_[found.shown].no_room == NoRoom::wrapped) wide = std::min(wide, narrowest_wrap);
    line += wide + (found.shown > 0 ? between : 0);
    if (line > width_ && found.shown >= always_shown) break;
  }
  return found;
}

std::string TextTable::row_text(const Row& row, const Layout& layout) const {
  std::string line;
  std::size_t at = 0;  // characters that the line has, without those that only colour
  for (std::size_t c = 0; c < layout.shown; ++c) {
    std::string cell = row.cells[c];
    std::size_t wide = characters(cell);
    if (c == 0 && wide > layout.widths[0]) {
      line = cell + '\n' + std::string(layout.widths[0], ' ');
      at = layout.widths[0];
      continue;
    }
    if (c > 0) line.append(between, ' ');
    at += c > 0 ? between : 0;
    const bool wraps = columns_[c].no_room == NoRoom::wrapped && at < width_;
    if (wraps) {
      line += wrapped(cell, at, width_ - at);
      break;
    }
    const std::string blanks(layout.widths[c] - wide, ' ');
    if (c == 1 && row.verdict && !cell.empty()) cell = row.verdict(cell);
    line += columns_[c].to_the_right ? blanks + cell : cell + blanks;
    at += layout.widths[c];
  }
  return without_trailing_blanks(line) + '\n';
}

std::string TextTable::beneath(const Row& row, const Layout& layout) const {
  std::string text;
  for (std::size_t c = layout.shown; c < columns_.size(); ++c) {
    if (columns_[c].no_room == NoRoom::left_out || row.cells[c].empty()) continue;
    text = joined(text, columns_[c].title + ' ' + row.cells[c], "; ");
  }
  return paragraph(text, under_a_row, width_);
}

std::string TextTable::missing(const Layout& layout) const {
  std::string names;
  for (std::size_t c = layout.shown; c < columns_.size(); ++c) {
    if (columns_[c].no_room == NoRoom::left_out) names = joined(names, columns_[c].title, ", ");
  }
  if (names.empty()) return {};
  return paragraph("(no room here for " + names + "; a wider terminal or --json shows more)", 0,
                   width_);
}

std::string TextTable::text() const {
  const Layout found = layout();
  Row titles;
  for (const Column& column : columns_) titles.cells.push_back(column.title);
  std::string result = row_text(titles, found);
  for (const Row& row : rows_) {
    if (!row.cells.empty()) {
      result += row_text(row, found) + beneath(row, found);
    } else if (under_a_row + characters(row.line) <= width_) {
      result += without_trailing_blanks(std::string(under_a_row, ' ') + row.line) + '\n';
    } else {
      result += paragraph(row.line, under_a_row, width_);
    }
  }
  return result + missing(found);
}

}  // namespace foundling
