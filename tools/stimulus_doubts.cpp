#include "tools/stimulus_doubts.h"

#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <iostream>
#include <vector>

#include "schemas/values/nearest_word.h"
#include "schemas/values/unit.h"
#include "tools/exchange/number_text.h"
#include "tools/terminal.h"

namespace foundling {
namespace {

constexpr std::string_view separators = "_-.";
// In letters, of the longer of two: a and b, min and max are different things, not slips.
constexpr std::size_t shortest_part = 4;
constexpr std::size_t shortest_word = 3;  // of a state: of for off, but not of for on

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string in_small_letters(std::string_view text) {
  std::string small(text);
  for (char& c : small) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return small;
}

// "cell_01_b" has 1.
std::vector<std::string> numbers_in(std::string_view text) {
  std::vector<std::string> numbers;
  bool inside = false;
  for (const char c : text) {
    if (is_digit(c)) {
      if (!inside) numbers.emplace_back();
      if (c != '0' || !numbers.back().empty()) numbers.back() += c;
    }
    inside = is_digit(c);
  }
  return numbers;
}

std::vector<std::string> parts_of(std::string_view name) {
  std::vector<std::string> parts(1);
  for (const char c : name) {
    if (separators.find(c) != std::string_view::npos) {
      parts.emplace_back();
    } else if (!is_digit(c)) {
      parts.back() += c;
    }
  }
  return parts;
}

// How many letters may be wrong: as for the words of a command line, a third of them.
bool is_near(const std::string& a, const std::string& b, std::size_t shortest) {
  if (a == b) return true;
  const std::size_t longer = std::max(a.size(), b.size());
  return longer >= shortest && edit_distance(a, b) <= std::max<std::size_t>(1, longer / 3);
}

bool is_near_name(const std::string& a, const std::string& b) {
  if (numbers_in(a) != numbers_in(b)) return false;
  const auto these = parts_of(a);
  const auto those = parts_of(b);
  if (these.size() == those.size()) {
    return std::equal(these.begin(), these.end(), those.begin(),
                      [](const auto& x, const auto& y) { return is_near(x, y, shortest_part); });
  }
  const auto whole = [](const std::vector<std::string>& parts) {
    std::string all;
    for (const std::string& part : parts) all += part;
    return all;
  };
  return whole(these) == whole(those);
}

// The nearest of those that `near` lets through.
template <typename Near>
std::optional<std::string> nearest(const std::string& typed, std::span<const std::string> known,
                                   Near near) {
  const std::string small = in_small_letters(typed);
  std::optional<std::string> best;
  std::size_t least = 0;
  for (const std::string& candidate : known) {
    const std::string other = in_small_letters(candidate);
    if (!near(small, other)) continue;
    const std::size_t distance = edit_distance(small, other);
    if (best && distance >= least) continue;
    best = candidate;
    least = distance;
  }
  return best;
}

bool contains(std::span<const std::string> known, const std::string& word) {
  return std::find(known.begin(), known.end(), word) != known.end();
}

std::string listed(std::span<const std::string> words) {
  std::string all;
  for (const std::string& word : words) all += (all.empty() ? "" : ", ") + word;
  return all;
}

// "5V", "1" where words are words.
bool looks_like_value(const std::string& word, std::span<const std::string> known) {
  const auto parts = parse_leading_number(word);
  if (!parts) return false;
  if (!parts->rest.empty()) return known_unit(parts->rest).has_value();
  return std::none_of(known.begin(), known.end(),
                      [](const std::string& other) { return parse_number(other).has_value(); });
}

// What a person at the terminal answers; nothing at its end.
std::optional<std::string> answer_to(const std::string& question) {
  std::cerr << question << ' ' << std::flush;
  std::string line;
  if (!std::getline(std::cin, line)) return {};
  std::string word;
  for (const char c : line) {
    if (std::isspace(static_cast<unsigned char>(c)) == 0) word += c;
  }
  return in_small_letters(word);
}

Result<std::string> ask(const Doubt& doubt, const std::string& typed) {
  std::string question = doubt.problem + ". ";
  if (doubt.meant) {
    question += "Did you mean " + *doubt.meant + "? y: yes";
    if (doubt.may_be_right) question += ", n: " + typed + " is really new";
  } else {
    question += "y: " + typed + " is really meant";
  }
  question += ", Enter: write nothing:";
  for (;;) {
    const auto answer = answer_to(question);
    if (!answer || answer->empty()) return Error{ErrorCode::usage, "nothing was written"};
    const bool yes = *answer == "y" || *answer == "yes";
    const bool no = *answer == "n" || *answer == "no";
    if (yes) return doubt.meant ? *doubt.meant : typed;
    if (no && doubt.meant && doubt.may_be_right) return typed;
    if (no) return Error{ErrorCode::usage, "nothing was written"};
  }
}

}  // namespace

std::optional<Doubt> doubt_of_channel(const std::string& name, std::span<const std::string> known) {
  if (contains(known, name)) return {};
  const auto near = nearest(name, known, is_near_name);
  if (!near) return {};
  return Doubt{"channel " + name + " is not in this capture", near, true};
}

std::optional<Doubt> doubt_of_word(const std::string& channel, const std::string& word,
                                   std::span<const std::string> known) {
  if (known.empty() || contains(known, word)) return {};
  const auto near = nearest(word, known, [](const std::string& a, const std::string& b) {
    return numbers_in(a) == numbers_in(b) && is_near(a, b, shortest_word);
  });
  if (!near && !looks_like_value(word, known)) return {};
  return Doubt{channel + " has had the words " + listed(known) + ", never " + word, near, true};
}

std::optional<Doubt> doubt_of_number(const std::string& value) {
  const auto comma = value.find(',');
  if (comma == std::string::npos || comma == 0 || comma + 1 == value.size()) return {};
  if (!is_digit(value[comma - 1]) || !is_digit(value[comma + 1])) return {};
  Doubt doubt{"decimals are written with a point, found \"" + value + '"', {}, false};
  std::string pointed = value;
  pointed[comma] = '.';
  const auto parts = parse_leading_number(pointed);
  const bool is_whole = parts && (parts->rest.empty() || known_unit(parts->rest));
  if (is_whole) doubt.meant = pointed;
  return doubt;
}

Result<std::string> settle_doubt(const std::optional<Doubt>& doubt, const std::string& typed,
                                 bool is_new) {
  if (!doubt || (is_new && doubt->may_be_right)) return typed;
  const bool can_ask = doubt->meant || doubt->may_be_right;
  if (can_ask && is_terminal(STDIN_FILENO) && is_terminal(STDERR_FILENO)) {
    return ask(*doubt, typed);
  }
  std::string message = doubt->problem;
  if (doubt->meant) message += "; did you mean " + *doubt->meant + '?';
  if (doubt->may_be_right) {
    message += std::string(doubt->meant ? " " : "; ") + "--new says that it is really meant so";
  }
  return Error{ErrorCode::usage, message};
}

}  // namespace foundling
