// The kinds of checksum that the project recomputes; any other is kept as text, and said so.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "schemas/signals/signal_map.h"

namespace foundling {

struct ChecksumKind {
  enum class Family : std::uint8_t { exclusive_or, sum, crc, j1939 };
  Family family = Family::sum;
  int width = 0;  // bits, as the word says; 0 for j1939, whose field says it
};

// "crc16" -> crc, 16. Nothing for a kind that is not recomputed.
[[nodiscard]] std::optional<ChecksumKind> checksum_kind(std::string_view word);

// The usual ones; a CRC may be of any width from 8 to 32.
[[nodiscard]] std::span<const std::string> usual_checksums();

// Why nobody checks this one, for a person: "a crc8 without a polynomial ...". Empty where it is
// checked.
[[nodiscard]] std::string unchecked_reason(const Checksum& checksum);

}  // namespace foundling
