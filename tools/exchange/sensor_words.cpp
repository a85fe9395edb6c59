#include "tools/exchange/sensor_words.h"

#include <array>
#include <string_view>

#include "tools/exchange/csv_table.h"
#include "tools/exchange/number_text.h"

namespace foundling {
namespace {

constexpr std::array<std::string_view, 2> columns = {"celsius", "ohm"};
constexpr std::string_view table_words = "thermistor table ";

// The points as the text has them: " 0:27326 25:10000".
Result<std::string> points_of_file(const std::string& path) {
  auto table = CsvTable::open(path, {columns, columns.size()});
  if (!table) return table.error();
  std::string points;
  for (;;) {
    const auto row = table->next();
    if (!row) return row.error();
    if (!*row) return points;
    for (std::size_t i = 0; i < columns.size(); ++i) {
      const std::string_view field = (**row)[i];
      if (!parse_number(field)) {
        return table->error(field, "expected a number" + found_field(field));
      }
      points += i == 0 ? " " : ":";
      points += field;
    }
  }
}

}  // namespace

Result<Sensor> sensor_of_words(const std::string& words) {
  const bool table = words.compare(0, table_words.size(), table_words) == 0;
  const std::string rest = table ? words.substr(table_words.size()) : std::string();
  const std::size_t start = rest.find_first_not_of(' ');
  // "25:10000" is a point, and "103at.csv" a file.
  const std::string first = start == std::string::npos ? std::string() : rest.substr(start);
  const auto number = parse_leading_number(first);
  if (!table || first.empty() || (number && number->rest.substr(0, 1) == ":")) {
    return parse_sensor(words);
  }
  const std::size_t end = rest.find(" ±", start);
  const std::string name = rest.substr(start, end == std::string::npos ? end : end - start);
  const auto points = points_of_file(name);
  if (!points) return points.error();
  auto sensor = parse_sensor("thermistor table" + *points +
                             (end == std::string::npos ? "" : rest.substr(end)));
  if (!sensor) return Error{sensor.error().code, name + ": " + sensor.error().message};
  return sensor;
}

}  // namespace foundling
