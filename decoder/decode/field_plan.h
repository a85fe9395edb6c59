// One field of a map made ready: where its bits are in an eight-byte window of the payload, and
// what becomes of them. Used by the decoder only.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

#include "decoder/decode/decode.h"

namespace foundling {

// A payload with room behind it, so that a window may reach past the end.
using Window = std::array<std::uint8_t, 72>;

// Whence a field's raw value comes.
struct BitsPlan {
  Span span;
  std::uint8_t start = 0;       // first byte of the window
  std::uint8_t shift = 0;       // of the window's word, to the right
  std::uint8_t sign_shift = 0;  // 64 - width
  std::uint8_t bytes = 0;       // the payload must have as many
  bool big = false;
  bool wide = false;  // touches nine bytes: bit by bit
  std::uint64_t mask = 0;
};

[[nodiscard]] BitsPlan plan_bits(const Span& span);
[[nodiscard]] std::uint64_t load(const BitsPlan& plan, const Window& window);

struct FieldPlan {
  BitsPlan bits;
  std::uint32_t field = 0;
  Encoding encoding = Encoding::unsigned_integer;
  bool plain = true;  // no table, states or reserved codes to look up
  double scale = 1;
  double offset = 0;
  const SignalEntry* entry = nullptr;
};

[[nodiscard]] FieldPlan plan_field(const Field& field, const SignalEntry& entry,
                                   std::uint32_t number);
[[nodiscard]] DecodedValue value_of(const FieldPlan& plan, std::uint64_t raw, std::int64_t t_ns);

}  // namespace foundling
