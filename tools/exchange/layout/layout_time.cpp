#include <charconv>
#include <chrono>

#include "tools/exchange/layout/table_layout.h"

namespace foundling {
namespace {

// The same number in seconds: its power of ten is moved, so nothing is rounded on the way.
std::string in_seconds(std::string number, int power) {
  const std::size_t mark = number.find_first_of("eE");
  if (mark != std::string::npos) {
    int own = 0;
    const char* begin = number.data() + mark + 1;
    const char* const end = number.data() + number.size();
    if (begin != end && *begin == '+') ++begin;
    const auto [after, failure] = std::from_chars(begin, end, own);
    if (failure != std::errc{} || after != end || own < -100 || own > 100) return {};
    power += own;
    number.resize(mark);
  }
  return number + 'e' + std::to_string(power);
}

std::optional<int> digits(std::string_view text, std::size_t at, std::size_t count) {
  int number = 0;
  if (at + count > text.size()) return {};
  const char* const begin = text.data() + at;
  const auto [after, failure] = std::from_chars(begin, begin + count, number);
  if (failure != std::errc{} || after != begin + count || *begin == '-') return {};
  return number;
}

// ISO 8601: 2026-03-01T12:00:00.25Z, a blank for the T, the Z left out.
std::optional<DecimalSeconds> date(std::string_view text) {
  if (!text.empty() && (text.back() == 'Z' || text.back() == 'z')) text.remove_suffix(1);
  if (text.size() < 19 || text[4] != '-' || text[7] != '-') return {};
  if ((text[10] != 'T' && text[10] != ' ') || text[13] != ':' || text[16] != ':') return {};
  const auto year = digits(text, 0, 4);
  const auto month = digits(text, 5, 2);
  const auto day = digits(text, 8, 2);
  const auto hour = digits(text, 11, 2);
  const auto minute = digits(text, 14, 2);
  if (!year || !month || !day || !hour || !minute || *hour > 23 || *minute > 59) return {};
  const std::chrono::year_month_day whole{std::chrono::year(*year),
                                          std::chrono::month(static_cast<unsigned>(*month)),
                                          std::chrono::day(static_cast<unsigned>(*day))};
  if (!whole.ok() || *year < 1970 || *year > 2200) return {};
  const auto seconds = parse_seconds(text.substr(17));
  if (!digits(text, 17, 2) || !seconds || seconds->ns >= 61'000'000'000) return {};
  const auto days = std::chrono::sys_days(whole).time_since_epoch().count();
  const std::int64_t before = (std::int64_t{days} * 24 + *hour) * 3600 + std::int64_t{*minute} * 60;
  return DecimalSeconds{before * 1'000'000'000 + seconds->ns, seconds->rounded};
}

}  // namespace

std::optional<DecimalSeconds> layout_time(std::string_view text, const TableLayout& layout) {
  const std::string number = pointed(text, layout.decimal);
  switch (layout.unit) {
    case LayoutTime::s:
      return parse_seconds(number);
    case LayoutTime::ms:
      return parse_seconds(in_seconds(number, -3));
    case LayoutTime::us:
      return parse_seconds(in_seconds(number, -6));
    case LayoutTime::ns:
      return parse_seconds(in_seconds(number, -9));
    case LayoutTime::date:
      return date(number);
  }
  return {};
}

}  // namespace foundling
