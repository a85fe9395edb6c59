#include "schemas/values/usage_words.h"

#include <optional>
#include <utility>

namespace foundling {
namespace {

using Halves = std::pair<std::string, std::string>;

std::optional<Halves> split(const std::string& text, const std::string& at) {
  const auto found = text.find(at);
  if (found == std::string::npos) return std::nullopt;
  return Halves{text.substr(0, found), text.substr(found + at.size())};
}

// "0.100000" as "0.1"; the largest double, which stands for no limit, as nothing.
std::string limit(std::string text) {
  constexpr std::size_t no_limit_has_digits = 30;
  if (text.size() > no_limit_has_digits) return {};
  if (text.find('.') == std::string::npos) return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text;
}

// "--seconds: Value 0 not in range 0.100000 to 600.000000"
std::optional<std::string> out_of_range(const std::string& text) {
  const auto value = split(text, ": Value ");
  if (!value) return std::nullopt;
  const auto range = split(value->second, " not in range ");
  if (!range) return std::nullopt;
  const auto limits = split(range->second, " to ");
  if (!limits) return std::nullopt;
  const std::string low = limit(limits->first);
  const std::string high = limit(limits->second);
  // Above a limit that prints as zero but is not the whole number 0: only more than zero will do.
  const std::string expected = high.empty() ? "a number, " + low + " or more" : low + " to " + high;
  return value->first + ": expected " + expected + ", found '" + range->first + '\'';
}

// "--format: tsv not in {csv,jsonl}"
std::optional<std::string> no_such_word(const std::string& text) {
  const auto sides = split(text, " not in {");
  if (!sides) return std::nullopt;
  const auto named = split(sides->first, ": ");
  if (!named) return std::nullopt;
  std::string words;
  for (const char c : sides->second) {
    if (c == '}') break;
    words += c == ',' ? std::string(", ") : std::string(1, c);
  }
  return named->first + ": expected one of " + words + "; found '" + named->second + '\'';
}

}  // namespace

std::string plain_usage_words(const std::string& complaint) {
  if (const auto no_number = split(complaint, "Could not convert: ")) {
    const auto sides = split(no_number->second, " = ");
    if (sides) return sides->first + ": expected a number, found '" + sides->second + '\'';
  }
  if (const auto range = out_of_range(complaint)) return *range;
  if (const auto word = no_such_word(complaint)) return *word;
  for (const char* extra : {"argument was not expected: ", "arguments were not expected: "}) {
    if (const auto sides = split(complaint, extra)) return "unexpected '" + sides->second + '\'';
  }
  if (const auto value = split(complaint, ": 1 required ")) {
    return value->first + ": the value after it is missing";
  }
  if (const auto sides = split(complaint, " requires ")) {
    return sides->first + " needs " + sides->second;
  }
  if (const auto sides = split(complaint, " excludes ")) {
    return sides->first + " and " + sides->second + " do not go together";
  }
  if (complaint.ends_with(" is required")) {
    return complaint.substr(0, complaint.size() - std::string(" is required").size()) +
           " is missing";
  }
  return complaint;
}

}  // namespace foundling
