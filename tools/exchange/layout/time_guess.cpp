// Which column is the time, and its unit.
#include <cmath>

#include "tools/exchange/layout/column_meaning.h"
#include "tools/exchange/layout/layout_guess.h"
#include "tools/exchange/number_text.h"

namespace foundling {
namespace {

std::vector<double> numbers_of(const ColumnSample& column, char decimal) {
  std::vector<double> numbers;
  for (const std::string& field : column.fields) {
    if (const auto number = parse_number(pointed(field, decimal))) numbers.push_back(*number);
  }
  return numbers;
}

bool may_be_time(const ColumnSample& column, char decimal) {
  return !column.any_empty() && (column.are_dates() || column.are_numbers(decimal));
}

// Rises nearly always, and not by one a row, which is a line's number.
bool rises(const std::vector<double>& numbers) {
  if (numbers.size() < 2) return !numbers.empty();
  std::size_t falls = 0;
  std::size_t by_one = 0;
  for (std::size_t i = 1; i < numbers.size(); ++i) {
    falls += numbers[i] < numbers[i - 1] ? 1U : 0U;
    by_one += numbers[i] == numbers[i - 1] + 1 ? 1U : 0U;
  }
  return falls * 20 <= numbers.size() && numbers.back() > numbers.front() &&
         by_one + 1 < numbers.size();
}

std::size_t time_column(const TableSample& sample) {
  const char decimal = sample.table.decimal;
  for (std::size_t c = 0; c < sample.columns.size(); ++c) {
    const ColumnSample& column = sample.columns[c];
    if (meaning_of(column.heading) == ColumnMeaning::time && may_be_time(column, decimal)) {
      return c + 1;
    }
  }
  for (std::size_t c = 0; c < sample.columns.size(); ++c) {
    const ColumnSample& column = sample.columns[c];
    if (!may_be_time(column, decimal)) continue;
    if (column.are_dates() || rises(numbers_of(column, decimal))) return c + 1;
  }
  return 0;
}

// Digits of a wall clock tell its unit; else the steps do. Rows of a bus or a meter are 0.1 ms to
// minutes apart.
LayoutTime unit_of(const ColumnSample& column, char decimal, std::vector<std::string>& unsure) {
  if (column.are_dates()) {
    unsure.emplace_back("dates are taken as UTC");
    return LayoutTime::date;
  }
  if (const auto said = time_unit_in(column.heading)) return *said;
  const auto numbers = numbers_of(column, decimal);
  const double size = std::abs(numbers.front());
  if (size >= 1e17) return LayoutTime::ns;
  if (size >= 1e14) return LayoutTime::us;
  if (size >= 1e11) return LayoutTime::ms;
  if (size >= 1e8 || !column.are_whole()) {
    const bool wall = size >= 1e8;
    if (!wall)
      unsure.emplace_back("no heading says the time's unit: decimals are taken as seconds");
    return LayoutTime::s;
  }
  const double step = (numbers.back() - numbers.front()) /
                      static_cast<double>(std::max<std::size_t>(numbers.size() - 1, 1));
  const LayoutTime unit = step < 50 ? LayoutTime::ms : step < 5e4 ? LayoutTime::us : LayoutTime::ns;
  unsure.push_back("no heading says the time's unit: " + std::string(to_string(unit)) +
                   " is taken, by the steps from row to row");
  return unit;
}

}  // namespace

bool guess_time(TableSample& sample, std::vector<std::string>& unsure) {
  sample.table.time = time_column(sample);
  if (sample.table.time == 0) return false;
  sample.table.unit = unit_of(sample.columns[sample.table.time - 1], sample.table.decimal, unsure);
  return true;
}

}  // namespace foundling
