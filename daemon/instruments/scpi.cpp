#include "daemon/instruments/scpi.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "daemon/instruments/scpi_headers.h"

namespace foundling {
namespace {

constexpr double infinity_code = 9.9e37;
constexpr double nan_code = 9.91e37;

bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t' || text.back() == '\r')) {
    text.remove_suffix(1);
  }
  return text;
}

std::string quoted(std::string_view part, const char* complaint) {
  std::string text(1, '"');
  text.append(printable(part)).append("\" ").append(complaint);
  return text;
}

// One header: ":MEASure:VOLTage:DC?", "*IDN?".
std::string fault_of_part(std::string_view part) {
  if (part.empty()) return "has an empty part";
  if (part.back() != '?') {
    return quoted(part, "does not end in '?': instruments are only ever asked");
  }
  std::string_view header = part.substr(0, part.size() - 1);
  if (!header.empty() && (header.front() == '*' || header.front() == ':')) header.remove_prefix(1);
  const bool plain = !header.empty() && is_letter(header.front()) &&
                     std::all_of(header.begin(), header.end(), [](char c) {
                       return is_letter(c) || is_digit(c) || c == ':' || c == '_';
                     });
  if (!plain) {
    return quoted(part, "is no plain query header like MEASure:VOLTage:DC?");
  }
  return {};
}

// A part without a colon at its front goes on where the one before it left off (IEEE 488.2, A.1.1),
// or, in instruments that do not heed that, at the root: it must be harmless in both places.
std::string fault_of_place(std::string_view part, std::string_view path) {
  const std::string_view header = part.substr(0, part.size() - 1);
  const bool from_root = header.front() == '*' || header.front() == ':' || path.empty();
  const bool good =
      may_be_asked(header) && (from_root || may_be_asked(std::string(path).append(header)));
  return good ? std::string() : quoted(part, "is not asked: ") + what_may_be_asked;
}

// Where a header leaves off: all but its last word.
std::string path_after(std::string_view part, std::string_view path) {
  if (part.front() == '*') return std::string(path);
  std::string whole(part.front() == ':' ? part.substr(1) : part);
  if (part.front() != ':') whole.insert(0, path);
  const std::size_t last = whole.rfind(':');
  return last == std::string::npos ? std::string() : whole.substr(0, last + 1);
}

}  // namespace

std::string fault_of_query(std::string_view query) {
  constexpr std::size_t longest = 200;
  if (query.size() > longest) return "is longer than 200 characters";
  std::string path;
  for (;;) {
    const std::size_t end = query.find(';');
    const std::string_view part = trimmed(query.substr(0, end));
    std::string fault = fault_of_part(part);
    if (fault.empty()) fault = fault_of_place(part, path);
    if (!fault.empty() || end == std::string_view::npos) return fault;
    path = path_after(part, path);
    query.remove_prefix(end + 1);
  }
}

ScpiAnswer read_answer(std::string_view answer, int number) {
  for (int i = 1; i < number; ++i) {
    const std::size_t end = answer.find_first_of(",;");
    if (end == std::string_view::npos) return {};
    answer.remove_prefix(end + 1);
  }
  std::string_view part = trimmed(answer.substr(0, answer.find_first_of(",;")));
  if (part.size() > 1 && part[0] == '+' && part[1] != '-') part.remove_prefix(1);
  // from_chars would take a second sign, and words like "inf".
  const std::size_t first = part.find_first_not_of("-.");
  if (first == std::string_view::npos || first > 2 || !is_digit(part[first])) return {};
  double value = 0;
  const auto [after, failure] = std::from_chars(part.data(), part.data() + part.size(), value);
  if (failure != std::errc{} || !std::isfinite(value)) return {};
  const std::string_view unit = trimmed(part.substr(static_cast<std::size_t>(after - part.data())));
  const bool letters = std::all_of(unit.begin(), unit.end(), [](char c) {
    return is_letter(c) || c == '%' || static_cast<unsigned char>(c) >= 0x80;
  });
  // "1e" is a number whose end is missing, not one with a unit.
  if (!letters || unit.substr(0, 1) == "e" || unit.substr(0, 1) == "E") return {};
  // Both codes are printed with few digits, and stand far above whatever is measured.
  if (std::fabs(value) > 9.905e37 && std::fabs(value) < nan_code * 1.001) {
    return {Answer::not_a_number, 0};
  }
  if (std::fabs(value) >= infinity_code * 0.999) return {Answer::overload, 0};
  return {Answer::value, value};
}

bool looks_like_identity(std::string_view answer) {
  answer = trimmed(answer);
  const std::string_view maker = answer.substr(0, answer.find(','));
  if (maker.empty() || maker.size() == answer.size()) return false;
  return std::any_of(maker.begin(), maker.end(), is_letter) &&
         read_answer(answer).kind == Answer::garbled;
}

std::string printable(std::string_view answer, std::size_t most) {
  std::string text;
  for (const char c : answer.substr(0, most)) {
    const auto byte = static_cast<unsigned char>(c);
    text += byte < 0x20 || byte >= 0x7F ? '?' : c;
  }
  if (answer.size() > most) text += "...";
  return text;
}

}  // namespace foundling
