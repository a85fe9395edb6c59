#include "tools/time_column.h"

#include <cstdio>

namespace foundling {
namespace {

constexpr std::int64_t second_ns = 1'000'000'000;

std::int64_t whole_seconds(std::int64_t ns) {
  return ns >= 0 ? ns / second_ns : (ns - second_ns + 1) / second_ns;
}

}  // namespace

std::string_view TimeColumn::text(std::int64_t t_ns) {
  if (size_ == 0 || t_ns != t_ns_) {
    if (is_utc()) {
      write_utc(utc_of_(t_ns));
    } else {
      size_ = static_cast<std::size_t>(put_seconds(text_.data(), t_ns) - text_.data());
    }
    t_ns_ = t_ns;
  }
  return {text_.data(), size_};
}

// 2026-03-01T12:00:00.250123Z: the part before the point changes once a second.
void TimeColumn::write_utc(std::int64_t utc_ns) {
  constexpr std::size_t up_to_seconds = 19;
  constexpr int digits = 6;
  const std::int64_t second = whole_seconds(utc_ns);
  if (size_ == 0 || second != second_) {
    const std::string date = utc_text(second * second_ns);
    if (date.size() < up_to_seconds) {  // the time is not known
      size_ = 0;
      return;
    }
    date.copy(text_.data(), up_to_seconds);
    second_ = second;
  }
  std::int64_t micro = (utc_ns - second * second_ns) / 1000;
  text_[up_to_seconds] = '.';
  for (std::size_t i = up_to_seconds + digits; i > up_to_seconds; --i) {
    text_[i] = static_cast<char>('0' + micro % 10);
    micro /= 10;
  }
  text_[up_to_seconds + 1 + digits] = 'Z';
  size_ = up_to_seconds + 2 + digits;
}

}  // namespace foundling
