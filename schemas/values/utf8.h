// The little of UTF-8 that places, carets and text for a person's eyes need.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace foundling {

// Some editors put it before the text.
inline constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

// Bytes at the start of `text` that are well-formed UTF-8 (RFC 3629: no overlong form, no
// surrogate).
[[nodiscard]] std::size_t well_formed_bytes(std::string_view text);

// Bytes of the character at the start of `text`; 0 where there is none that is well formed.
[[nodiscard]] std::size_t character_length(std::string_view text);
[[nodiscard]] std::optional<char32_t> character_at(std::string_view text);

// As many whole characters of well-formed text as `limit` bytes hold.
[[nodiscard]] std::string_view first_bytes(std::string_view text, std::size_t limit);

// Characters in well-formed text.
[[nodiscard]] std::size_t characters(std::string_view text);

// What is not UTF-8 becomes '?', control characters and line ends become spaces.
[[nodiscard]] std::string printable(std::string_view text);

// Text that a line of the map can hold: printable, without spaces at both ends.
[[nodiscard]] std::string one_line(std::string_view text);

}  // namespace foundling
