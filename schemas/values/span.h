// How bits are named: BYTE.BIT, byte 0 first on the wire, bit 7 the most significant of its byte.
// A field is written from its most to its least significant bit, MSB..LSB, and that alone fixes the
// byte order: from the MSB down within the byte, then on to bit 7 of the neighbouring byte in the
// direction of the LSB. 2.7..3.0 is big-endian, 3.7..2.0 little-endian, 4.5..4.2 inside a byte.
#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace foundling {

struct BitPosition {
  std::uint8_t byte = 0;  // 0..63
  std::uint8_t bit = 0;   // 7 most significant
  auto operator<=>(const BitPosition&) const = default;
};

enum class ByteOrder : std::uint8_t { single, big, little };

struct Span {
  BitPosition msb;
  BitPosition lsb;

  auto operator<=>(const Span&) const = default;

  [[nodiscard]] ByteOrder order() const;
  [[nodiscard]] int width() const;  // bits
  // The position of bit i, i = 0 the least significant. 0 <= i < width().
  [[nodiscard]] BitPosition position(int i) const;
  [[nodiscard]] bool contains(BitPosition p) const;
  [[nodiscard]] bool overlaps(const Span& other) const;
  [[nodiscard]] int last_byte() const;  // the highest byte index touched

  // The field whose least significant bit is `lsb`, `width` bits wide, growing in the given order.
  // Requires that it fits (bytes 0..63) and, for single, that it stays in one byte.
  // `single` and a field inside one byte are the same thing.
  [[nodiscard]] static std::optional<Span> from_lsb(BitPosition lsb, int width, ByteOrder order);
};

[[nodiscard]] std::string_view to_string(ByteOrder order);  // "single", "big", "little"
[[nodiscard]] std::string to_string(BitPosition p);         // "4.7"
[[nodiscard]] std::string to_string(const Span& span);      // "2.7..3.0"; one bit: "6.1"

// Reads "2.7..3.0" or "6.1". Nothing for anything else, or for a span wider than 64 bits or with a
// byte above 63 or a bit above 7, or one whose MSB lies below its LSB in the same byte.
[[nodiscard]] std::optional<Span> parse_span(std::string_view text);

// The raw unsigned value of the span's bits. Requires payload.size() > span.last_byte(), width
// <= 64.
[[nodiscard]] std::uint64_t extract(const Span& span, std::span<const std::uint8_t> payload);

// The same value read as two's complement of that width.
[[nodiscard]] std::int64_t sign_extend(std::uint64_t raw, int width);

// Writes raw's low width() bits into the span's place; other bits of the payload are kept.
void insert(const Span& span, std::uint64_t raw, std::span<std::uint8_t> payload);

}  // namespace foundling
