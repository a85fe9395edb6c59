#include "schemas/values/shell_word.h"

#include <algorithm>
#include <cctype>

namespace foundling {

std::string shell_word(std::string_view text) {
  const auto plain = [](unsigned char c) {
    return c >= 0x80 || std::isalnum(c) != 0 ||
           std::string_view("._-+/%,:=@").find(static_cast<char>(c)) != std::string_view::npos;
  };
  if (!text.empty() && std::ranges::all_of(text, plain)) return std::string(text);
  std::string quoted = "'";
  for (const char c : text) quoted += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return quoted + '\'';
}

}  // namespace foundling
