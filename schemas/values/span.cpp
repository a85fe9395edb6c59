#include "schemas/values/span.h"

#include <algorithm>
#include <charconv>

namespace foundling {
namespace {

constexpr int top_byte = 254;  // of the longest payload; a frame's is 63

// A position's place on the line along which a span of that order runs downwards: from the most
// significant bit, places fall by one a step. Big-endian: byte 0 is the highest byte.
int place(BitPosition p, ByteOrder order) {
  return order == ByteOrder::big ? (top_byte - p.byte) * 8 + p.bit : p.byte * 8 + p.bit;
}

BitPosition at_place(int place, ByteOrder order) {
  const int byte = order == ByteOrder::big ? top_byte - place / 8 : place / 8;
  return {static_cast<std::uint8_t>(byte), static_cast<std::uint8_t>(place % 8)};
}

std::optional<BitPosition> parse_position(std::string_view text) {
  int byte = 0;
  const char* end = text.data() + text.size();
  const auto [after, failure] = std::from_chars(text.data(), end, byte);
  if (failure != std::errc{} || byte < 0 || byte > top_byte || end - after != 2 || after[0] != '.')
    return {};
  if (after[1] < '0' || after[1] > '7') return {};
  return BitPosition{static_cast<std::uint8_t>(byte), static_cast<std::uint8_t>(after[1] - '0')};
}

}  // namespace

ByteOrder Span::order() const {
  if (msb.byte == lsb.byte) return ByteOrder::single;
  return msb.byte < lsb.byte ? ByteOrder::big : ByteOrder::little;
}

int Span::width() const { return place(msb, order()) - place(lsb, order()) + 1; }

BitPosition Span::position(int i) const { return at_place(place(lsb, order()) + i, order()); }

bool Span::contains(BitPosition p) const {
  const int at = place(p, order());
  return at >= place(lsb, order()) && at <= place(msb, order());
}

bool Span::overlaps(const Span& other) const {
  for (int i = 0; i < width(); ++i) {
    if (other.contains(position(i))) return true;
  }
  return false;
}

int Span::last_byte() const { return std::max(msb.byte, lsb.byte); }

std::optional<Span> Span::from_lsb(BitPosition lsb, int width, ByteOrder order) {
  if (width < 1 || lsb.byte > top_byte || lsb.bit > 7) return {};
  const int top = place(lsb, order) + width - 1;
  if (top >= (top_byte + 1) * 8) return {};
  const Span span{at_place(top, order), lsb};
  if (order == ByteOrder::single && span.msb.byte != lsb.byte) return {};
  return span;
}

std::string_view to_string(ByteOrder order) {
  switch (order) {
    case ByteOrder::big:
      return "big";
    case ByteOrder::little:
      return "little";
    case ByteOrder::single:
      break;
  }
  return "single";
}

std::string to_string(BitPosition p) {
  return std::to_string(p.byte) + '.' + std::to_string(p.bit);
}

std::string to_string(const Span& span) {
  if (span.msb == span.lsb) return to_string(span.msb);
  return to_string(span.msb) + ".." + to_string(span.lsb);
}

std::optional<Span> parse_span(std::string_view text) {
  const auto dots = text.find("..");
  const auto msb = parse_position(text.substr(0, dots));
  const auto lsb = dots == std::string_view::npos ? msb : parse_position(text.substr(dots + 2));
  if (!msb || !lsb) return {};
  const Span span{*msb, *lsb};
  if (span.width() < 1 || span.width() > 64) return {};
  return span;
}

std::uint64_t extract(const Span& span, std::span<const std::uint8_t> payload) {
  std::uint64_t raw = 0;
  const int step = span.order() == ByteOrder::little ? -1 : 1;
  // Byte by byte from the most significant: each contributes the bits between `high` and `low`.
  for (int byte = span.msb.byte;; byte += step) {
    const int high = byte == span.msb.byte ? span.msb.bit : 7;
    const int low = byte == span.lsb.byte ? span.lsb.bit : 0;
    const unsigned whole = payload[static_cast<std::size_t>(byte)];
    const unsigned bits = (whole >> low) & ((2U << (high - low)) - 1U);
    raw = (raw << (high - low + 1)) | bits;
    if (byte == span.lsb.byte) return raw;
  }
}

std::int64_t sign_extend(std::uint64_t raw, int width) {
  const int unused = 64 - width;
  return static_cast<std::int64_t>(raw << unused) >> unused;
}

void insert(const Span& span, std::uint64_t raw, std::span<std::uint8_t> payload) {
  for (int i = 0; i < span.width(); ++i) {
    const BitPosition p = span.position(i);
    std::uint8_t& byte = payload[p.byte];
    const auto mask = static_cast<std::uint8_t>(1U << p.bit);
    const bool set = ((raw >> i) & 1U) != 0;
    byte = static_cast<std::uint8_t>(set ? byte | mask : byte & ~mask);
  }
}

}  // namespace foundling
