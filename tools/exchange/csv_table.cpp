#include "tools/exchange/csv_table.h"

#include <algorithm>

#include "schemas/values/nearest_word.h"
#include "schemas/values/shown_text.h"

namespace foundling {
namespace {

// Takes quotation marks off that a spreadsheet may have put around a field.
std::string_view bare(std::string_view field) {
  if (field.size() >= 2 && field.front() == '"' && field.back() == '"') {
    return field.substr(1, field.size() - 2);
  }
  return field;
}

std::string listed(std::span<const std::string_view> names) {
  std::string text;
  for (const std::string_view name : names) {
    if (!text.empty()) text += ',';
    text += name;
  }
  return text;
}

}  // namespace

std::string quoted_field(std::string_view text) {
  return '"' + shown(text.substr(0, 40)) + (text.size() > 40 ? "...\"" : "\"");
}

std::string found_field(std::string_view field) {
  return field.empty() ? ", found nothing" : ", found " + quoted_field(field);
}

Error table_error(const std::string& file, std::uint64_t number, std::string_view line,
                  std::string_view field, const std::string& problem) {
  const auto at = static_cast<std::size_t>(field.data() - line.data());
  const std::size_t column = at <= line.size() ? at : 0;
  std::string message = file + ':' + std::to_string(number) + ':' + std::to_string(column + 1) +
                        ": error: " + problem;
  const bool showable = line.size() <= 200 && shown(line) == line;
  if (showable && !line.empty()) {
    message += "\n  " + std::string(line) + "\n  " + std::string(column, ' ') +
               std::string(std::max<std::size_t>(field.size(), 1), '^');
  }
  return {ErrorCode::format, std::move(message)};
}

Result<CsvTable> CsvTable::open(const std::filesystem::path& path, const Columns& columns) {
  auto lines = TextLines::open(path);
  if (!lines) return lines.error();
  CsvTable table(std::move(lines).value());
  if (auto read = table.read_header(columns); !read) return read.error();
  return table;
}

Result<void> CsvTable::read_header(const Columns& columns) {
  const auto first = lines_.next();
  if (!first) return first.error();
  const std::string expected = listed(columns.names.first(columns.required));
  if (!*first) {
    return Error{ErrorCode::format,
                 lines_.name() + ": empty file, expected the header " + expected};
  }
  line_ = **first;
  std::array<bool, most_columns> seen{};
  for (std::size_t begin = 0; begin <= line_.size();) {
    const std::size_t comma = std::min(line_.find(',', begin), line_.size());
    const std::string_view field = line_.substr(begin, comma - begin);
    const auto name = std::find(columns.names.begin(), columns.names.end(), bare(field));
    if (name == columns.names.end()) {
      std::vector<std::string> known(columns.names.begin(), columns.names.end());
      const auto near = nearest_word(std::string(bare(field)), known);
      return error(field,
                   "unknown column " + quoted_field(field) +
                       (near ? ", did you mean \"" + *near + "\"?" : ", expected " + expected));
    }
    const auto index = static_cast<std::size_t>(name - columns.names.begin());
    if (seen[index]) return error(field, "column " + quoted_field(field) + " is there twice");
    seen[index] = true;
    place_[width_++] = index;
    begin = comma + 1;
  }
  for (std::size_t i = 0; i < columns.required; ++i) {
    if (seen[i]) continue;
    return error(line_.substr(line_.size()), "column \"" + std::string(columns.names[i]) +
                                                 "\" is missing, expected " + expected);
  }
  return {};
}

Result<std::optional<CsvTable::Row>> CsvTable::next() {
  const auto line = lines_.next();
  if (!line) return line.error();
  if (!*line) return std::optional<Row>{};
  line_ = **line;
  if (line_.empty()) return check_rest_is_empty();
  Row row{};
  std::size_t count = 0;
  for (std::size_t begin = 0; begin <= line_.size(); ++count) {
    const std::size_t comma = std::min(line_.find(',', begin), line_.size());
    const std::string_view field = line_.substr(begin, comma - begin);
    if (count == width_) {
      return error(field, "expected " + std::to_string(width_) + " fields, found more");
    }
    row[place_[count]] = bare(field);
    begin = comma + 1;
  }
  if (count < width_) {
    return error(line_.substr(line_.size()),
                 "expected " + std::to_string(width_) + " fields, found " + std::to_string(count));
  }
  return std::optional<Row>(row);
}

Result<std::optional<CsvTable::Row>> CsvTable::check_rest_is_empty() {
  const std::uint64_t empty_at = lines_.number();
  for (;;) {
    const auto line = lines_.next();
    if (!line) return line.error();
    if (!*line) return std::optional<Row>{};
    if (!(*line)->empty()) {
      return Error{ErrorCode::format, lines_.name() + ':' + std::to_string(empty_at) +
                                          ":1: error: expected " + std::to_string(width_) +
                                          " fields, found an empty line"};
    }
  }
}

Error CsvTable::error(std::string_view field, const std::string& problem) const {
  return table_error(lines_.name(), lines_.number(), line_, field, problem);
}

}  // namespace foundling
