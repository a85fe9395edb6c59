#include "schemas/signals/diagnostic.h"

#include <algorithm>
#include <tuple>

#include "schemas/values/utf8.h"

namespace foundling {
namespace {

// Lines by number without keeping an index: wanted only when there is something to report.
std::string_view line_at(std::string_view text, int line) {
  if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
  for (int i = 1; i < line; ++i) {
    const auto end = text.find('\n');
    if (end == std::string_view::npos) return {};
    text.remove_prefix(end + 1);
  }
  return text.substr(0, text.find('\n'));
}

// A tab or a control character counts as one column and is shown as a space, so that carets align
// and nothing reaches the terminal that could steer it; what is not UTF-8 shows as '?'.
std::string shown(std::string_view line) {
  std::string out = printable(line);
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

// The part of a line around a place, and where the caret run is in it.
struct Window {
  std::string text;
  std::size_t before = 0;
  std::size_t marked = 1;
};

// `count` characters from the start, or all.
std::string first_characters(std::string_view text, std::size_t count) {
  const auto starts_one = [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; };
  std::size_t at = 0;
  for (; at < text.size(); ++at) {
    if (starts_one(text[at]) && count-- == 0) break;
  }
  return std::string(text.substr(0, at));
}

Window window_at(const std::string& line, const TextPlace& place) {
  constexpr std::size_t widest = 120;  // characters
  constexpr std::size_t lead = 40;     // before the place, where the line's start is far
  Window window{line, static_cast<std::size_t>(std::max(place.column - 1, 0)),
                static_cast<std::size_t>(std::max(place.length, 1))};
  if (window.before + lead > widest) {
    const std::string gone = first_characters(line, window.before - lead);
    window.text = "..." + line.substr(gone.size());
    window.before = lead + 3;
  }
  if (characters(window.text) > widest) {
    window.text = first_characters(window.text, widest) + "...";
    window.marked = std::min(window.marked, widest - window.before);
  }
  return window;
}

std::string describe_one(const Diagnostic& diagnostic, std::string_view file,
                         std::string_view text) {
  const TextPlace& place = diagnostic.place;
  std::string out(file);
  out += ':' + std::to_string(place.line) + ':' + std::to_string(place.column) + ": ";
  out += diagnostic.severity == Severity::error ? "error: " : "warning: ";
  out += diagnostic.message + '\n';
  const std::string_view line = line_at(text, place.line);
  const Window window = window_at(shown(line), place);
  out += "  " + window.text + '\n';
  out += "  " + std::string(window.before, ' ') + std::string(window.marked, '^') + '\n';
  if (!diagnostic.suggestion.empty()) out += "  suggestion: " + diagnostic.suggestion + '\n';
  return out;
}

}  // namespace

bool has_errors(const std::vector<Diagnostic>& diagnostics) {
  return std::ranges::find(diagnostics, Severity::error, &Diagnostic::severity) !=
         diagnostics.end();
}

std::string describe(const std::vector<Diagnostic>& diagnostics, std::string_view file,
                     std::string_view text) {
  std::vector<Diagnostic> sorted = diagnostics;
  std::ranges::stable_sort(sorted, [](const Diagnostic& a, const Diagnostic& b) {
    return std::tie(a.place.line, a.place.column) < std::tie(b.place.line, b.place.column);
  });
  std::string out;
  for (std::size_t i = 0; i < sorted.size() && i < diagnostics_shown; ++i) {
    out += describe_one(sorted[i], file, text);
  }
  if (sorted.size() > diagnostics_shown) {
    out += std::string(file) + ": " + std::to_string(sorted.size() - diagnostics_shown) +
           " more not shown\n";
  }
  return out;
}

}  // namespace foundling
