#include "decoder/report/paragraph.h"

#include <algorithm>

#include "schemas/values/utf8.h"

namespace foundling {

std::string paragraph(std::string_view text, std::size_t indent, std::size_t width,
                      std::size_t hanging) {
  std::string result;
  std::string line(indent, ' ');
  bool empty = true;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (word.empty()) continue;
    if (!empty && characters(line) + 1 + characters(word) > width) {
      result += line + '\n';
      line.assign(indent + hanging, ' ');
      empty = true;
    }
    if (!empty) line += ' ';
    line += word;
    empty = false;
  }
  return empty ? result : result + line + '\n';
}

std::string paragraphs(std::string_view lines, std::size_t width) {
  std::string out;
  while (!lines.empty()) {
    const std::size_t end = std::min(lines.find('\n'), lines.size());
    const std::string_view line = lines.substr(0, end);
    lines.remove_prefix(std::min(end + 1, lines.size()));
    const std::size_t indent = line.find_first_not_of(' ');
    out += indent == std::string_view::npos ? "\n" : paragraph(line, indent, width);
  }
  return out;
}

}  // namespace foundling
