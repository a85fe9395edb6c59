// A finding in a text, with its place. Findings are collected and shown together; they are apart
// from Result, which is about one operation.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace foundling {

struct TextPlace {
  int line = 0;    // from 1
  int column = 0;  // from 1, in characters
  int length = 1;  // characters under the caret run
};

enum class Severity : std::uint8_t { error, warning };

struct Diagnostic {
  Severity severity = Severity::error;
  TextPlace place;
  std::string message;     // "expected X, found Y"
  std::string suggestion;  // empty, or what to do
};

// At most this many are shown in one run.
inline constexpr std::size_t diagnostics_shown = 20;

[[nodiscard]] bool has_errors(const std::vector<Diagnostic>& diagnostics);

// file:line:column: error: message, the source line, a caret run and the suggestion; in the order
// of places; after diagnostics_shown of them, how many more there are. Ends with a newline, or is
// empty.
[[nodiscard]] std::string describe(const std::vector<Diagnostic>& diagnostics,
                                   std::string_view file, std::string_view text);

}  // namespace foundling
