#include "tools/terminal.h"

#include <sys/ioctl.h>
#include <unistd.h>

#include <cstdlib>

namespace foundling {

bool is_terminal(int file) { return isatty(file) == 1; }

bool can_rewrite_lines(int file) {
  const char* kind = std::getenv("TERM");
  return is_terminal(file) && !(kind != nullptr && std::string_view(kind) == "dumb");
}

bool shows_colour(int file) {
  const char* none = std::getenv("NO_COLOR");
  return can_rewrite_lines(file) && (none == nullptr || *none == '\0');
}

int terminal_width(int file, int otherwise) {
  winsize size{};
  if (ioctl(file, TIOCGWINSZ, &size) != 0 || size.ws_col == 0) return otherwise;
  return size.ws_col;
}

std::string coloured(int file, Colour colour, std::string_view text) {
  if (!shows_colour(file)) return std::string(text);
  const char* code = colour == Colour::red      ? "\x1b[31m"
                     : colour == Colour::green  ? "\x1b[32m"
                     : colour == Colour::yellow ? "\x1b[33m"
                                                : "\x1b[2m";
  return code + std::string(text) + "\x1b[0m";
}

}  // namespace foundling
