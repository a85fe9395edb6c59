// The check codes that boards put into their frames, written from the published definitions:
// CRCs by polynomial division bit by bit, sums, exclusive-or, and the message checksum of
// SAE J1939-71 (SPN 4207). Slow and obvious on purpose.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling::recovery {

struct CheckCode {
  std::string kind = "crc8";  // crc8, crc16, sum8, xor8, j1939
  int width = 8;
  std::uint32_t polynomial = 0;  // normal form; 0 for those without
  std::uint32_t initial = 0;
  std::uint32_t final_xor = 0;
  bool reflected = false;
  bool includes_identifier = false;         // its bytes, low first, ahead of the payload
  std::vector<std::uint8_t> hidden_prefix;  // a data ID that never travels
};

[[nodiscard]] std::uint32_t crc(const CheckCode& code, std::span<const std::uint8_t> bytes);

// The value that belongs into `place`: all bytes but those of `place` take part (for j1939: bytes
// 1..7, the counter in the low nibble of byte 8, the identifier).
[[nodiscard]] std::uint32_t check_value(const CheckCode& code, const Span& place, CanId id,
                                        std::span<const std::uint8_t> payload);

[[nodiscard]] std::string polynomial_text(const CheckCode& code);  // "1D", "1021", or empty

}  // namespace foundling::recovery
