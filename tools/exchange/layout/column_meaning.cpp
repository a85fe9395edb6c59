#include "tools/exchange/layout/column_meaning.h"

#include <algorithm>
#include <array>
#include <string>
#include <vector>

namespace foundling {
namespace {

// Small letters in runs: "Time [ms]" is time, ms; "DataLength" is datalength; "D0" is d.
std::vector<std::string> words_in(std::string_view heading) {
  std::vector<std::string> words;
  bool inside = false;
  for (const char c : heading) {
    const char small = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    const bool letter = (small >= 'a' && small <= 'z') || static_cast<unsigned char>(c) >= 0x80;
    if (letter && !inside) words.emplace_back();
    if (letter) words.back() += small;
    inside = letter;
  }
  return words;
}

struct Meant {
  ColumnMeaning meaning;
  std::vector<std::string_view> words;
};

// In this order: "Data length" is a length, "CAN ID" an identifier, "Bus time" a time.
const std::array<Meant, 6>& meanings() {
  static const std::array<Meant, 6> all{{
      {ColumnMeaning::length, {"dlc", "len", "length", "datalength", "size", "bytes", "count"}},
      {ColumnMeaning::extended, {"ext", "extended", "ide", "xtd"}},
      {ColumnMeaning::time, {"time", "timestamp", "t", "ts", "seconds", "date", "datetime"}},
      {ColumnMeaning::identifier,
       {"id", "identifier", "canid", "msgid", "messageid", "frameid", "arbitration", "cobid"}},
      {ColumnMeaning::data, {"data", "payload", "byte", "b", "d", "databytes"}},
      {ColumnMeaning::bus, {"bus", "channel", "chan", "ch", "interface", "network"}},
  }};
  return all;
}

}  // namespace

ColumnMeaning meaning_of(std::string_view heading) {
  const auto words = words_in(heading);
  for (const Meant& meant : meanings()) {
    for (const std::string& word : words) {
      if (std::ranges::find(meant.words, word) != meant.words.end()) return meant.meaning;
    }
  }
  return ColumnMeaning::unknown;
}

std::optional<LayoutTime> time_unit_in(std::string_view heading) {
  for (const std::string& word : words_in(heading)) {
    if (word == "ms" || word == "milliseconds") return LayoutTime::ms;
    if (word == "us" || word == "\u00B5s" || word == "microseconds") return LayoutTime::us;
    if (word == "ns" || word == "nanoseconds") return LayoutTime::ns;
    if (word == "s" || word == "sec" || word == "seconds") return LayoutTime::s;
  }
  return {};
}

}  // namespace foundling
