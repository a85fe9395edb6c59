// Values as text: the figures in CSV, JSON and the live outputs.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace foundling {

// The quick forms write at `out`, where there is room for so many characters, and return the
// end.
inline constexpr std::size_t value_text_room = 48;
// Exact, without the zeros at the end that an export has: 1500000000 -> "1.5".
char* put_seconds(char* out, std::int64_t t_ns);
// At most 15 significant digits, none superfluous: what is left is not decoding's rounding.
char* put_number(char* out, double value);
// What put_number writes of whole / 10^digits, digits 0..15, |whole| < 10^15.
char* put_decimal(char* out, std::int64_t whole, int digits);

[[nodiscard]] std::string seconds_text(std::int64_t t_ns);
[[nodiscard]] std::string number_text(double value);
// "2026-03-01T12:00:00.250Z" of a Unix time, to the millisecond; empty for 0 (unknown).
[[nodiscard]] std::string utc_text(std::int64_t utc_ns);

}  // namespace foundling
