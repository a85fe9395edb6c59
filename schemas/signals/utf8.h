// The little of UTF-8 that places and carets need.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace foundling {

// Bytes at the start of `text` that are well-formed UTF-8 (RFC 3629: no overlong form, no
// surrogate).
[[nodiscard]] std::size_t well_formed_bytes(std::string_view text);

// Characters in well-formed text.
[[nodiscard]] std::size_t characters(std::string_view text);

// Text that a line of the map can hold: what is not UTF-8 becomes '?', control characters and line
// ends become spaces, spaces at both ends go.
[[nodiscard]] std::string one_line(std::string_view text);

}  // namespace foundling
