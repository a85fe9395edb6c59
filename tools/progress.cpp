#include "tools/progress.h"

#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <iostream>

#include "tools/terminal.h"

namespace foundling {
namespace {

constexpr std::chrono::milliseconds between(100);
constexpr int bar_width = 30;

}  // namespace

std::string progress_line(double share, const std::string& text, int width) {
  share = std::clamp(std::isfinite(share) ? share : 0.0, 0.0, 1.0);
  const auto full = static_cast<std::size_t>(std::floor(share * bar_width));
  std::string per_cent = std::to_string(static_cast<int>(std::floor(share * 100)));
  per_cent.insert(0, 3 - per_cent.size(), ' ');
  std::string line = '[' + std::string(full, '#') + std::string(bar_width - full, '.') + "] " +
                     per_cent + " %  " + text;
  line.resize(std::min(line.size(), static_cast<std::size_t>(std::max(width, 0))));
  return line;
}

Progress::Progress()
    : watched_(can_rewrite_lines(STDERR_FILENO)),
      next_(std::chrono::steady_clock::now() + std::chrono::milliseconds(300)) {}

void Progress::put(const std::string& line) {
  std::cerr << line_anew() << line << std::flush;
  shown_ = true;
}

void Progress::say(const std::string& text) {
  if (watched_) put(text);
}

void Progress::show(double share, const std::string& text) {
  if (!watched_) return;
  const auto now = std::chrono::steady_clock::now();
  if (now < next_) return;
  next_ = now + between;
  put(progress_line(share, text, terminal_width(STDERR_FILENO, 80) - 1));
}

void Progress::done() {
  if (shown_) std::cerr << line_anew() << std::flush;
  shown_ = false;
}

}  // namespace foundling
