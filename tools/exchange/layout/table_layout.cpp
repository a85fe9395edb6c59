#include "tools/exchange/layout/table_layout.h"

#include <algorithm>
#include <array>
#include <charconv>

#include "schemas/values/nearest_word.h"
#include "tools/exchange/layout/delimited_line.h"

namespace foundling {
namespace {

struct Separator {
  std::string_view word;
  char character;
};
constexpr std::array<Separator, 4> separators{
    {{"comma", ','}, {"semicolon", ';'}, {"tab", '\t'}, {"blank", ' '}}};

constexpr std::array<std::string_view, 5> units{"s", "ms", "us", "ns", "date"};

std::optional<std::size_t> whole(std::string_view text) {
  std::size_t number = 0;
  const char* const end = text.data() + text.size();
  const auto [after, failure] = std::from_chars(text.data(), end, number);
  if (failure != std::errc{} || after != end || text.empty()) return {};
  return number;
}

Result<void> take_separator(const LayoutItem& item, TableLayout& layout) {
  const auto* const found = std::ranges::find(separators, item[1], &Separator::word);
  if (found == separators.end()) return layout_error(item, "comma, semicolon, tab or blank");
  layout.separator = found->character;
  return {};
}

Result<void> take_decimal(const LayoutItem& item, TableLayout& layout) {
  if (item[1] != "point" && item[1] != "comma") return layout_error(item, "point or comma");
  layout.decimal = item[1] == "comma" ? ',' : '.';
  return {};
}

Result<void> take_time(const LayoutItem& item, TableLayout& layout) {
  std::vector<std::size_t> none;
  const auto column = layout_column(item, item[1], none);
  if (!column) return column.error();
  layout.time = *column;
  const std::string_view word = item.size() > 2 ? std::string_view(item[2]) : "s";
  const auto* const unit = std::ranges::find(units, word);
  if (unit == units.end()) return layout_error(item, "s, ms, us, ns or date");
  layout.unit = static_cast<LayoutTime>(unit - units.begin());
  return {};
}

}  // namespace

std::vector<LayoutItem> layout_items(std::string_view text) {
  std::vector<LayoutItem> items;
  for (const std::string_view part : fields_of(text, ',')) {
    LayoutItem words;
    std::string line(part);  // whoever types it may break the line
    std::ranges::replace(line, '\n', ' ');
    for (const std::string_view word : fields_of(line, ' ')) words.emplace_back(word);
    if (!words.empty()) items.push_back(std::move(words));
  }
  return items;
}

Error layout_error(const LayoutItem& item, const std::string& expected) {
  std::string said;
  for (const std::string& word : item) said += (said.empty() ? "" : " ") + word;
  return {ErrorCode::usage, "layout: expected " + expected + ", found \"" + said + '"'};
}

Result<bool> take_table_item(const LayoutItem& item, TableLayout& layout) {
  const std::string& word = item.front();
  const bool known = word == "separator" || word == "decimal" || word == "skip" || word == "time";
  if (!known) return false;
  const std::size_t most = word == "time" ? 3 : 2;
  if (item.size() < 2 || item.size() > most) {
    return layout_error(item, word == "time" ? "time COLUMN UNIT" : word + " and one word");
  }
  Result<void> taken{};
  if (word == "separator") taken = take_separator(item, layout);
  if (word == "decimal") taken = take_decimal(item, layout);
  if (word == "time") taken = take_time(item, layout);
  if (word == "skip") {
    const auto lines = whole(item[1]);
    if (!lines || *lines > 1'000'000) return layout_error(item, "a number of lines");
    layout.skip = *lines;
  }
  if (!taken) return taken.error();
  return true;
}

Result<std::size_t> layout_column(const LayoutItem& item, std::string_view word,
                                  std::vector<std::size_t>& taken) {
  const auto column = whole(word);
  if (!column || *column < 1 || *column > most_layout_columns) {
    return layout_error(item, "a column's number, 1 to " + std::to_string(most_layout_columns));
  }
  if (std::ranges::find(taken, *column) != taken.end()) {
    return layout_error(item, "a column that is not used yet");
  }
  taken.push_back(*column);
  return *column;
}

Result<void> check_table_layout(const TableLayout& layout) {
  if (layout.time == 0) {
    return Error{ErrorCode::usage, "layout: it does not say where the time is: time COLUMN UNIT"};
  }
  if (layout.separator == ',' && layout.decimal == ',') {
    return Error{ErrorCode::usage, "layout: a comma cannot be both separator and decimal sign"};
  }
  return {};
}

std::string table_layout_words(const TableLayout& layout) {
  return "separator " + std::string(separator_word(layout.separator)) + ", decimal " +
         (layout.decimal == ',' ? "comma" : "point") + ", skip " + std::to_string(layout.skip) +
         ", time " + std::to_string(layout.time) + ' ' + std::string(to_string(layout.unit));
}

std::string_view to_string(LayoutTime unit) { return units.at(static_cast<std::size_t>(unit)); }

std::string_view separator_word(char separator) {
  const auto* const found = std::ranges::find(separators, separator, &Separator::character);
  return found == separators.end() ? std::string_view("comma") : found->word;
}

std::string time_expected(LayoutTime unit) {
  if (unit == LayoutTime::date) return "expected a time like 2026-03-01 12:00:00.25";
  return "expected a number of " + std::string(to_string(unit));
}

std::string pointed(std::string_view number, char decimal) {
  std::string text(number);
  if (decimal == ',') {
    // A point would group thousands there: what is left in makes it no number.
    if (text.find('.') != std::string::npos) return {};
    std::ranges::replace(text, ',', '.');
  }
  return text;
}

}  // namespace foundling
