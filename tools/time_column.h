// How the time of a decoded value is written: seconds of the session, or the wall clock's time in
// UTC, to the microsecond (ISO 8601). Made for millions of values: what the one before had in
// common is not worked out again.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <string_view>

#include "tools/value_text.h"

namespace foundling {

class TimeColumn {
 public:
  // Unix time in ns of a moment of the values' time line; asked for every new time, since the
  // wall clock may be set while a recording is followed.
  using UtcOf = std::function<std::int64_t(std::int64_t t_ns)>;

  TimeColumn() = default;
  explicit TimeColumn(UtcOf utc_of) : utc_of_(std::move(utc_of)) {}

  [[nodiscard]] bool is_utc() const { return static_cast<bool>(utc_of_); }
  [[nodiscard]] std::string_view heading() const { return is_utc() ? "time_utc" : "time_s"; }
  // The text of that time, at the front of value_text_room characters; stands until the next call.
  [[nodiscard]] std::string_view text(std::int64_t t_ns);

 private:
  void write_utc(std::int64_t utc_ns);

  UtcOf utc_of_;
  std::array<char, value_text_room> text_{};
  std::size_t size_ = 0;
  std::int64_t t_ns_ = 0;
  std::int64_t second_ = 0;  // the one whose date and time stand in text_
};

}  // namespace foundling
