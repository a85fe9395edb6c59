#include "tools/text_width.h"

#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <string_view>

#include "tools/terminal.h"

namespace foundling {

std::size_t text_width(int file) {
  constexpr int standard = 80;
  constexpr int narrowest = 40;
  constexpr int widest = 1000;
  const char* said = std::getenv("COLUMNS");
  const std::string_view text = said == nullptr ? "" : said;
  int columns = 0;
  const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), columns);
  const bool usable = failure == std::errc{} && end == text.data() + text.size() && columns > 0;
  if (!usable) columns = terminal_width(file, standard);
  return static_cast<std::size_t>(std::clamp(columns, narrowest, widest));
}

}  // namespace foundling
