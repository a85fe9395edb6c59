#include "tools/terminal.h"

#include <sys/ioctl.h>
#include <unistd.h>

#include <cstdlib>
#include <random>

namespace foundling {
namespace {

constexpr char key_end = '\x1c';  // a separator that no text of ours has
constexpr std::string_view wipe_line = "wipe";

const std::string& key() {
  static const std::string drawn = [] {
    std::random_device source;
    std::string text = "\x1b<";
    for (int i = 0; i < 4; ++i) text += std::to_string(source());
    return text + '>';
  }();
  return drawn;
}

}  // namespace

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

std::string terminal_code(std::string_view sequence) {
  return key() + std::string(sequence) + key_end;
}

std::string with_terminal_codes(std::string_view text, std::string (*rest)(std::string_view)) {
  std::string out;
  for (;;) {
    const std::size_t at = text.find(key());
    const std::size_t end =
        at == std::string_view::npos ? at : text.find(key_end, at + key().size());
    if (end == std::string_view::npos) return out + rest(text);
    out += rest(text.substr(0, at));
    const std::string_view sequence = text.substr(at + key().size(), end - at - key().size());
    out += sequence == wipe_line ? "\r\x1b[K" : '\x1b' + std::string(sequence);
    text.remove_prefix(end + 1);
  }
}

std::string line_anew() { return terminal_code(wipe_line); }

std::string coloured(int file, Colour colour, std::string_view text) {
  if (!shows_colour(file)) return std::string(text);
  const char* code = colour == Colour::red      ? "[31m"
                     : colour == Colour::green  ? "[32m"
                     : colour == Colour::yellow ? "[33m"
                                                : "[2m";
  return terminal_code(code) + std::string(text) + terminal_code("[0m");
}

}  // namespace foundling
