// A bit rate as people write it: "500000", "500k", "500 kbit/s", "1M", "83.333k".
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace foundling {

// In bit/s, a whole number; empty where the text is none or is more than any CAN bus has.
[[nodiscard]] std::optional<std::uint32_t> bit_rate_of(std::string_view text);
// What to say where it is none.
[[nodiscard]] std::string expected_bit_rate(const std::string& found);

}  // namespace foundling
