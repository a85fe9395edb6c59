#include "schemas/signals/hints.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>
#include <utility>
#include <vector>

#include "schemas/signals/fact_text.h"
#include "schemas/values/nearest_word.h"
#include "schemas/values/span.h"
#include "schemas/values/unit.h"

namespace foundling {
namespace {

using Hint = std::pair<std::string_view, std::string_view>;

constexpr std::string_view value_hint = "write: value = raw * 0.1 - 40 °C";
constexpr std::string_view clause_hint =
    "it stands behind the identifier: message 1A4 every 20 ms length 8";
constexpr std::string_view comment_hint = "comments begin with #";
constexpr std::string_view order_hint =
    "the bits say the order: 3.7..2.0 is low byte first, 2.7..3.0 high byte first";
constexpr std::string_view conflict_hint =
    "version control left a conflict here: keep one side's lines and delete the marks";
constexpr std::string_view where_hint = "write: where \"module 3, third from the minus end\"";
constexpr std::string_view note_hint = "write it as a note: note text to the end of the line";

// By the words' first letters, so that a list is easy to add to.
constexpr std::array habits{
    Hint{"--", comment_hint},
    Hint{"..", "bits are written without spaces: 2.7..3.0"},
    Hint{"//", comment_hint},
    Hint{"/*", comment_hint},
    Hint{";", comment_hint},
    Hint{"<<<<<<<", conflict_hint},
    Hint{"=", conflict_hint},
    Hint{">>>>>>>", conflict_hint},
    Hint{"big", order_hint},
    Hint{"big-endian", order_hint},
    Hint{"bus", clause_hint},
    Hint{"bytes", "the length is in bytes already: length 8"},
    Hint{"comment", note_hint},
    Hint{"confirmed", "write: status confirmed"},
    Hint{"cycle", clause_hint},
    Hint{"description", note_hint},
    Hint{"dlc", clause_hint},
    Hint{"every", clause_hint},
    Hint{"extended", clause_hint},
    Hint{"factor", value_hint},
    Hint{"length", clause_hint},
    Hint{"little", order_hint},
    Hint{"little-endian", order_hint},
    Hint{"location", where_hint},
    Hint{"max", note_hint},
    Hint{"min", note_hint},
    Hint{"offset", value_hint},
    Hint{"page", "a signal says its page by the selector's name: on NAME 3"},
    Hint{"period", clause_hint},
    Hint{"position", where_hint},
    Hint{"proposed", "write: status proposed"},
    Hint{"refuted", "write: status refuted"},
    Hint{"scale", value_hint},
    Hint{"unit", value_hint},
    Hint{"|||||||", conflict_hint},
};

constexpr std::array units{
    Hint{"amp", "A"},     Hint{"ampere", "A"},   Hint{"amperes", "A"},  Hint{"amps", "A"},
    Hint{"c", "°C"},      Hint{"celsius", "°C"}, Hint{"deg", "°C"},     Hint{"degc", "°C"},
    Hint{"deg c", "°C"},  Hint{"degree", "°C"},  Hint{"degrees", "°C"}, Hint{"kohm", "kΩ"},
    Hint{"ohm", "Ω"},     Hint{"ohms", "Ω"},     Hint{"percent", "%"},  Hint{"sec", "s"},
    Hint{"seconds", "s"}, Hint{"volt", "V"},     Hint{"volts", "V"},    Hint{"watt", "W"},
    Hint{"watts", "W"},
};

template <std::size_t N>
std::string look_up(const std::array<Hint, N>& hints, std::string_view word) {
  const auto at = std::ranges::find(hints, word, &Hint::first);
  return at == hints.end() ? std::string() : std::string(at->second);
}

// ASCII letters only, which unit names have.
std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  return out;
}

bool contains_any(std::string_view text, std::initializer_list<std::string_view> parts) {
  return std::ranges::any_of(
      parts, [text](std::string_view part) { return text.find(part) != std::string_view::npos; });
}

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::vector<std::string> digit_groups(std::string_view source) {
  std::vector<std::string> groups;
  bool inside = false;
  for (const char c : source) {
    if (is_digit(c) && !inside) groups.emplace_back();
    inside = is_digit(c);
    if (inside) groups.back() += c;
  }
  return groups;
}

}  // namespace

std::string lookalike_hint(std::string_view source) {
  if (contains_any(source, {"\u00A0", "\u202F"})) {
    return "this has a no-break space; type a plain one";
  }
  if (contains_any(source, {"\u201C", "\u201D", "\u201E"})) return "type straight quotes: \"";
  if (contains_any(source, {"\u2212", "\u2013", "\u2014"})) return "type a plain minus sign: -";
  return {};
}

std::string habit_hint(std::string_view word) { return look_up(habits, word); }

std::string number_hint(std::string_view source) {
  double value = 0;
  const char* const end = source.data() + source.size();
  const auto [stop, failure] = std::from_chars(source.data(), end, value);
  if (failure != std::errc{} || stop == end) return {};
  const std::string_view rest(stop, static_cast<std::size_t>(end - stop));
  if (rest.front() == '/') {
    double below = 0;
    const auto read = std::from_chars(stop + 1, end, below);
    const bool whole = read.ec == std::errc{} && read.ptr == end && below != 0;
    return whole ? "write " + shortest(value / below) : std::string();
  }
  if (is_digit(rest.front()) || rest.front() == '.' || rest.front() == 'x') return {};
  return "put a space before the unit: " + std::string(source.data(), stop) + ' ' +
         std::string(rest);
}

std::string span_hint(std::string_view source) {
  const auto groups = digit_groups(source);
  if (groups.size() == 4) {
    const std::string high = groups[0] + '.' + groups[1];
    const std::string low = groups[2] + '.' + groups[3];
    if (parse_span(high + ".." + low)) return "did you mean " + high + ".." + low + '?';
    if (parse_span(low + ".." + high)) {
      return "the most significant bit comes first: " + low + ".." + high;
    }
  }
  return "each end is BYTE.BIT, bytes from 0 (to 63 in a frame) and bits from 7 down to 0";
}

std::string unit_hint(std::string_view unit) {
  std::string sign = look_up(units, lower(unit));
  if (sign.empty()) {
    const auto same = std::ranges::find_if(
        unit_names(), [&](const std::string& known) { return lower(known) == lower(unit); });
    if (same != unit_names().end()) {
      sign = *same;
    } else if (const auto near = nearest_word(unit, unit_names())) {
      sign = *near;
    }
  }
  return sign.empty() ? sign : "did you mean '" + sign + "'?";
}

}  // namespace foundling
