#include "schemas/signals/index_formula.h"

#include "schemas/values/payload_id.h"

namespace foundling {

std::int64_t IndexFormula::at(std::int64_t n) const {
  std::int64_t value = n - from;
  if (operation == Operation::div) value /= by;
  if (operation == Operation::mod) value %= by;
  return base + value * times;
}

std::optional<Span> moved(const Span& span, std::int64_t bits, bool big) {
  const ByteOrder own = span.order();
  const bool along_big = own == ByteOrder::big || (own == ByteOrder::single && big);
  constexpr int line = static_cast<int>(longest_payload) * 8;
  if (bits <= -line || bits >= line) return {};
  // The field's end nearest to byte 0 is its first bit on its line.
  const std::int64_t first =
      along_big ? span.msb.byte * 8 + (7 - span.msb.bit) : span.lsb.byte * 8 + span.lsb.bit;
  const std::int64_t start = first + bits;
  const std::int64_t stop = start + span.width() - 1;
  if (start < 0 || stop >= line) return {};
  const auto at = [along_big](std::int64_t place) {
    const auto bit = static_cast<std::uint8_t>(place % 8);
    return BitPosition{static_cast<std::uint8_t>(place / 8),
                       along_big ? static_cast<std::uint8_t>(7 - bit) : bit};
  };
  if (along_big) return Span{at(start), at(stop)};
  return Span{at(stop), at(start)};
}

}  // namespace foundling
