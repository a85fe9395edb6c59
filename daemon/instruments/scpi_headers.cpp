#include "daemon/instruments/scpi_headers.h"

#include <algorithm>
#include <array>
#include <vector>

namespace foundling {
namespace {

char upper(char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; }
bool is_upper(char c) { return c >= 'A' && c <= 'Z'; }

bool same(std::string_view text, std::string_view capitals) {
  return std::ranges::equal(text, capitals, [](char a, char b) { return upper(a) == upper(b); });
}

// Whether a word of a header is this one: in its long form or its short one (the capitals), perhaps
// with a number behind (SCPI-99 vol. 1, 6.2.1 and 6.2.5.2).
bool is_word(std::string_view text, std::string_view word) {
  while (!text.empty() && text.back() >= '0' && text.back() <= '9') text.remove_suffix(1);
  const auto end = std::ranges::find_if_not(word, is_upper);
  return same(text, word) ||
         same(text, word.substr(0, static_cast<std::size_t>(end - word.begin())));
}

std::vector<std::string_view> words_of(std::string_view header) {
  std::vector<std::string_view> words;
  for (;;) {
    const std::size_t end = header.find(':');
    words.push_back(header.substr(0, end));
    if (end == std::string_view::npos) return words;
    header.remove_prefix(end + 1);
  }
}

// SCPI-99 vol. 2: MEASure, READ, FETCh (3); IEEE 488.2, 10: the common ones.
constexpr std::array<std::string_view, 3> measuring = {"MEASure", "READ", "FETCh"};
constexpr std::array<std::string_view, 4> common = {"IDN", "OPT", "STB", "ESR"};
// What a supply or a load is set to: [SOURce:]VOLTage[:LEVel][:IMMediate][:AMPLitude] (21).
constexpr std::array<std::string_view, 4> set_values = {"VOLTage", "CURRent", "RESistance",
                                                        "POWer"};
constexpr std::array<std::string_view, 3> of_set_values = {"LEVel", "IMMediate", "AMPLitude"};

template <std::size_t Count>
bool is_one_of(std::string_view text, const std::array<std::string_view, Count>& words) {
  return std::ranges::any_of(words, [&](std::string_view word) { return is_word(text, word); });
}

bool is_set_value(std::vector<std::string_view> words) {
  if (words.size() > 1 && is_word(words[0], "SOURce")) words.erase(words.begin());
  return is_one_of(words[0], set_values) &&
         std::all_of(words.begin() + 1, words.end(),
                     [](auto word) { return is_one_of(word, of_set_values); });
}

bool is_data(std::vector<std::string_view> words) {
  const bool below = is_word(words[0], "SENSe") || is_word(words[0], "TRACe");
  if (words.size() > 1 && below) words.erase(words.begin());
  return words.size() <= 2 && is_word(words[0], "DATA");
}

}  // namespace

bool may_be_asked(std::string_view header) {
  if (header.starts_with('*')) {
    return std::ranges::any_of(common,
                               [&](std::string_view word) { return same(header.substr(1), word); });
  }
  if (header.starts_with(':')) header.remove_prefix(1);
  const auto words = words_of(header);
  const auto is = [&](std::string_view first, std::string_view second) {
    return is_word(words[0], first) &&
           (words.size() == 1 || (words.size() == 2 && is_word(words[1], second)));
  };
  return is_one_of(words[0], measuring) || is_data(words) || is_set_value(words) ||
         is("OUTPut", "STATe") ||
         (is_word(words[0], "SYSTem") && words.size() >= 2 && words.size() <= 3 &&
          is_word(words[1], "ERRor") && (words.size() == 2 || is_word(words[2], "NEXT")));
}

}  // namespace foundling
