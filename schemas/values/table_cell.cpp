#include "schemas/values/table_cell.h"

#include <algorithm>

#include "schemas/values/shown_text.h"

namespace foundling {
namespace {

// OWASP, "CSV Injection": what a cell that is run begins with. Its tab and carriage return are
// written out anyway.
constexpr std::string_view begins_formula = "=+-@";

bool is_formula(std::string_view text) {
  return !text.empty() && begins_formula.find(text.front()) != std::string_view::npos;
}

bool is_odd(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return byte < 0x20 || byte >= 0x7F || c == ',' || c == '"';
}

}  // namespace

bool needs_care_in_cell(std::string_view text) {
  return is_formula(text) || std::ranges::any_of(text, is_odd);
}

std::string bare_cell(std::string_view text) { return (is_formula(text) ? "'" : "") + shown(text); }

std::string table_cell(std::string_view text) {
  if (!needs_care_in_cell(text)) return std::string(text);
  const std::string seen = bare_cell(text);
  if (seen.find_first_of(",\"") == std::string::npos) return seen;
  std::string out = "\"";
  for (const char c : seen) {
    if (c == '"') out += '"';
    out += c;
  }
  return out + '"';
}

std::string_view without_guard(std::string_view cell) {
  const bool guarded = cell.starts_with('\'') && is_formula(cell.substr(1));
  return guarded ? cell.substr(1) : cell;
}

}  // namespace foundling
