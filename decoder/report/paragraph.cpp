#include "decoder/report/paragraph.h"

#include <algorithm>

#include "schemas/values/utf8.h"

namespace foundling {

std::string paragraph(std::string_view text, std::size_t indent, std::size_t width) {
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
      line.assign(indent + 2, ' ');
      empty = true;
    }
    if (!empty) line += ' ';
    line += word;
    empty = false;
  }
  return empty ? result : result + line + '\n';
}

}  // namespace foundling
