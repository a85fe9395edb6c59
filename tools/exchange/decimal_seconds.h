// Seconds as a decimal text, exactly in nanoseconds: no double on the way.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace foundling {

struct DecimalSeconds {
  std::int64_t ns = 0;
  bool rounded = false;  // the text had digits below the nanosecond that are not zero
};

// "12", "-0.5", "1700000000.123456789", "2.5e-3". Digits below the nanosecond are rounded to the
// nearest. Nothing for anything else, or beyond 292 years.
[[nodiscard]] std::optional<DecimalSeconds> parse_seconds(std::string_view text);

// What to say of so many times that were rounded; nothing of none.
[[nodiscard]] std::vector<std::string> remarks_on_rounded(std::uint64_t times);

// Always nine decimals: "1700000000.123456789", "-0.500000000".
void append_seconds(std::string& text, std::int64_t ns);

}  // namespace foundling
