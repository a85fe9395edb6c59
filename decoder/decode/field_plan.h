// One field of a map made ready: where its bits are in an eight-byte window of the payload, and
// what becomes of them. Used by the decoder only.
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <cstring>
#include <span>
#include <vector>

#include "decoder/decode/decimal_line.h"
#include "decoder/decode/decode.h"
#include "schemas/values/payload_id.h"

namespace foundling {

// A frame's payload with room behind it, so that a window may reach past the end.
using Window = std::array<std::uint8_t, longest_frame + 8>;
// The same of any bytes with eight more behind them.
using WindowBytes = std::span<const std::uint8_t>;

// Whence a field's raw value comes.
struct BitsPlan {
  Span span;
  std::uint8_t start = 0;       // first byte of the window
  std::uint8_t shift = 0;       // of the window's word, to the right
  std::uint8_t sign_shift = 0;  // 64 - width
  std::uint8_t bytes = 0;       // the payload must have as many
  bool big = false;
  bool wide = false;     // touches nine bytes, or is swapped: piece by piece
  bool swapped = false;  // its words of 16 bits stand in reverse order
  std::uint64_t mask = 0;
};

[[nodiscard]] BitsPlan plan_bits(const Span& span, bool swapped = false);
[[nodiscard]] std::uint64_t load_wide(const BitsPlan& plan, WindowBytes window);

static_assert(std::endian::native == std::endian::little, "load() reads little-endian words");

[[nodiscard]] inline std::uint64_t load(const BitsPlan& plan, WindowBytes window) {
  if (plan.wide) return load_wide(plan, window);
  std::uint64_t word = 0;
  std::memcpy(&word, window.data() + plan.start, sizeof word);
  if (plan.big) word = __builtin_bswap64(word);
  return (word >> plan.shift) & plan.mask;
}

struct FieldPlan {
  BitsPlan bits;
  std::uint32_t field = 0;
  Encoding encoding = Encoding::unsigned_integer;
  bool plain = true;  // an integer on a line: no table, states or reserved codes to look up
  DecimalLine line;
  const SignalEntry* entry = nullptr;
};

[[nodiscard]] FieldPlan plan_field(const Field& field, const SignalEntry& entry,
                                   std::uint32_t number);
// Everything but `number` on a line, where the plan is not plain.
void look_up(const FieldPlan& plan, DecodedValue& value);

// The slot may hold an older value. Inline, like load(): most of what decoding costs is here.
inline void fill(const FieldPlan& plan, std::uint64_t raw, std::int64_t t_ns, DecodedValue& value) {
  value.t_ns = t_ns;
  value.raw = raw;
  value.field = plan.field;
  value.kind = ValueKind::number;
  value.word = {};
  if (!plan.plain) return look_up(plan, value);
  const auto moved = static_cast<std::int64_t>(raw << plan.bits.sign_shift);
  const double number = plan.encoding == Encoding::signed_integer
                            ? static_cast<double>(moved >> plan.bits.sign_shift)
                            : static_cast<double>(raw);
  value.number = plan.line.at(number);
}

}  // namespace foundling
