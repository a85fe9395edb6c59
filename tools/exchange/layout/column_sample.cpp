#include "tools/exchange/layout/column_sample.h"

#include <algorithm>
#include <array>
#include <set>

#include "tools/exchange/layout/delimited_line.h"
#include "tools/exchange/number_text.h"
#include "tools/exchange/text_lines.h"

namespace foundling {
namespace {

constexpr std::size_t most_lines = 1000;  // some seconds of a bus: enough to see every digit
constexpr std::size_t most_heading_lines = 100;
constexpr std::size_t fewest_columns = 2;
constexpr std::array<char, 4> separators{';', '\t', ',', ' '};

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_hex_letter(char c) { return (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F'); }

std::string_view digits_of(std::string_view text) {
  const bool prefixed = text.size() > 2 && text[0] == '0' && (text[1] == 'x' || text[1] == 'X');
  return prefixed ? text.substr(2) : text;
}

bool is_date(std::string_view text) {
  const TableLayout layout{.unit = LayoutTime::date};
  return layout_time(text, layout).has_value();
}

bool is_number(std::string_view text, char decimal) {
  return parse_number(pointed(text, decimal)).has_value();
}

// Rows of a table hold numbers or times; headings and notes do not.
bool is_row(std::string_view line, char separator) {
  const auto fields = fields_of(line, separator);
  if (fields.size() < fewest_columns) return false;
  return std::ranges::any_of(fields, [&](std::string_view field) {
    return is_number(field, '.') || is_date(field) || (separator != ',' && is_number(field, ','));
  });
}

Result<std::vector<std::string>> first_lines(const std::filesystem::path& path) {
  auto lines = TextLines::open(path);
  if (!lines) return lines.error();
  std::vector<std::string> all;
  while (all.size() < most_lines) {
    const auto line = lines->next();
    if (!line) return line.error();
    if (!*line) break;
    all.emplace_back(**line);
  }
  return all;
}

// The first row's number, where all lines from it on are rows between such separators.
std::optional<std::size_t> rows_from(const std::vector<std::string>& lines, char separator) {
  const auto row = [&](const std::string& line) { return is_row(line, separator); };
  const auto first = std::ranges::find_if(lines, row);
  if (first == lines.end() || first - lines.begin() > static_cast<long>(most_heading_lines)) {
    return {};
  }
  const bool all = std::all_of(first, lines.end(), [&](const std::string& line) {
    return line.find_first_not_of(" \t") == std::string::npos || row(line);
  });
  if (!all) return {};
  return static_cast<std::size_t>(first - lines.begin());
}

void fill(TableSample& sample, const std::vector<std::string>& lines) {
  for (std::size_t i = sample.table.skip; i < lines.size(); ++i) {
    const auto fields = fields_of(lines[i], sample.table.separator);
    if (fields.empty() || (fields.size() == 1 && fields[0].empty())) continue;
    while (sample.columns.size() < fields.size()) {
      sample.columns.emplace_back().fields.resize(sample.rows);
    }
    for (std::size_t c = 0; c < sample.columns.size(); ++c) {
      sample.columns[c].fields.emplace_back(c < fields.size() ? fields[c] : std::string_view());
    }
    ++sample.rows;
  }
  if (sample.table.skip == 0) return;
  const auto headings = fields_of(lines[sample.table.skip - 1], sample.table.separator);
  if (headings.size() < fewest_columns) return;
  for (std::size_t c = 0; c < std::min(headings.size(), sample.columns.size()); ++c) {
    sample.columns[c].heading = headings[c];
  }
}

bool decimal_commas(const TableSample& sample) {
  if (sample.table.separator == ',') return false;
  return std::ranges::any_of(sample.columns, [](const ColumnSample& column) {
    return !column.are_numbers('.') && column.are_numbers(',');
  });
}

template <typename Test>
bool all_filled(const std::vector<std::string>& fields, Test test) {
  bool any = false;
  for (const std::string& field : fields) {
    if (field.empty()) continue;
    if (!test(field)) return false;
    any = true;
  }
  return any;
}

}  // namespace

bool ColumnSample::are_numbers(char decimal) const {
  return all_filled(fields, [&](const std::string& text) { return is_number(text, decimal); });
}

bool ColumnSample::are_whole() const {
  return all_filled(fields, [](const std::string& t) { return std::ranges::all_of(t, is_digit); });
}

bool ColumnSample::are_hex() const {
  return all_filled(fields, [](const std::string& text) {
    return std::ranges::all_of(digits_of(text),
                               [](char c) { return is_digit(c) || is_hex_letter(c); });
  });
}

bool ColumnSample::are_dates() const { return all_filled(fields, is_date); }

bool ColumnSample::any_empty() const {
  return std::ranges::any_of(fields, [](const std::string& text) { return text.empty(); });
}

bool ColumnSample::any_letter() const {
  return std::ranges::any_of(fields, [](const std::string& text) {
    return std::ranges::any_of(digits_of(text), is_hex_letter);
  });
}

bool ColumnSample::any_prefix() const {
  return std::ranges::any_of(
      fields, [](const std::string& text) { return digits_of(text).size() < text.size(); });
}

std::size_t ColumnSample::shortest() const {
  std::size_t digits = longest();
  for (const std::string& text : fields) {
    if (!text.empty()) digits = std::min(digits, digits_of(text).size());
  }
  return digits;
}

std::size_t ColumnSample::longest() const {
  std::size_t digits = 0;
  for (const std::string& text : fields) digits = std::max(digits, digits_of(text).size());
  return digits;
}

std::size_t ColumnSample::different() const {
  return std::set<std::string_view>(fields.begin(), fields.end()).size();
}

Result<TableSample> sample_table(const std::filesystem::path& path) {
  const auto lines = first_lines(path);
  if (!lines) return lines.error();
  for (const char separator : separators) {
    const auto from = rows_from(*lines, separator);
    if (!from) continue;
    TableSample sample;
    sample.table.separator = separator;
    sample.table.skip = *from;
    fill(sample, *lines);
    sample.table.decimal = decimal_commas(sample) ? ',' : '.';
    return sample;
  }
  return Error{ErrorCode::format,
               path.string() +
                   ": no table that is understood: expected rows of numbers between "
                   "semicolons, tabs, commas or blanks"};
}

}  // namespace foundling
