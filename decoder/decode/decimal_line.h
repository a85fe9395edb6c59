// A signal's line, value = raw × scale + offset, in decimals: people and standards write 0.05 V a
// bit and mean the decimal number, which no double is. Over a common power of ten both figures are
// whole numbers, `raw * step + zero` is exact, and one division rounds once: the value is the
// double nearest to the decimal number meant. 277 × 0.05 is 13.85 then, and not 13.850000000000001.
#pragma once

#include <cstdint>

namespace foundling {

struct DecimalLine {
  double step = 1;
  double zero = 0;
  double per = 1;  // a power of ten
  int digits = 0;  // of it
  // Every value of the field has at most 15 digits. Where not (a wide field with a fine scale),
  // step and zero are scale and offset themselves, per is 1, and product and sum are rounded as
  // they come.
  bool exact = false;

  [[nodiscard]] double at(double raw) const { return (raw * step + zero) / per; }
  // The same in whole units of 1 / per. Requires exact.
  [[nodiscard]] std::int64_t whole_at(std::int64_t raw) const {
    return raw * static_cast<std::int64_t>(step) + static_cast<std::int64_t>(zero);
  }
};

// For raw values of so many bits, two's complement or not. Requires finite figures.
[[nodiscard]] DecimalLine decimal_line(double scale, double offset, int width, bool is_signed);

}  // namespace foundling
