#include "tools/exchange/layout/delimited_line.h"

#include <algorithm>

namespace foundling {
namespace {

constexpr bool is_blank(char c) { return c == ' ' || c == '\t'; }

// The end of a field that begins at `begin`: its separator's place, or the line's end.
std::size_t end_of_field(std::string_view line, std::size_t begin, char separator) {
  if (begin < line.size() && line[begin] == '"') {
    for (std::size_t quote = line.find('"', begin + 1); quote != std::string_view::npos;
         quote = line.find('"', quote + 2)) {
      if (quote + 1 == line.size() || line[quote + 1] == separator) return quote + 1;
      if (line[quote + 1] != '"') break;  // no quotation mark of a table's: taken as it is
    }
  }
  return std::min(line.find(separator, begin), line.size());
}

std::string_view bare(std::string_view field) {
  while (!field.empty() && is_blank(field.front())) field.remove_prefix(1);
  while (!field.empty() && is_blank(field.back())) field.remove_suffix(1);
  if (field.size() < 2 || field.front() != '"' || field.back() != '"') return field;
  return field.substr(1, field.size() - 2);
}

std::vector<std::string_view> words_of(std::string_view line) {
  std::vector<std::string_view> words;
  for (std::size_t begin = 0; words.size() < most_layout_columns;) {
    while (begin < line.size() && is_blank(line[begin])) ++begin;
    if (begin == line.size()) break;
    std::size_t end = end_of_field(line, begin, ' ');
    if (line[begin] != '"') end = std::min(end, line.find('\t', begin));
    words.push_back(bare(line.substr(begin, end - begin)));
    begin = end;
  }
  return words;
}

}  // namespace

std::vector<std::string_view> fields_of(std::string_view line, char separator) {
  if (separator == ' ') return words_of(line);
  std::vector<std::string_view> fields;
  for (std::size_t begin = 0; begin <= line.size() && fields.size() < most_layout_columns;) {
    const std::size_t end = end_of_field(line, begin, separator);
    fields.push_back(bare(line.substr(begin, end - begin)));
    begin = end + 1;
  }
  return fields;
}

}  // namespace foundling
