// Where member n of a series sits: a number that is a linear step of n, n div k or n mod k.
// Spec: schemas/signals/README.md, "series".
#pragma once

#include <cstdint>
#include <optional>

#include "schemas/values/span.h"

namespace foundling {

// base + op(n - from) * times, where op is nothing, div `by` or mod `by`.
struct IndexFormula {
  enum class Operation : std::uint8_t { whole, div, mod };

  std::int64_t base = 0;
  std::int64_t from = 0;
  Operation operation = Operation::whole;
  std::int64_t by = 1;  // > 0
  std::int64_t times = 1;

  bool operator==(const IndexFormula&) const = default;

  // Requires n >= from; all numbers of a formula lie within +-2^31, so nothing overflows.
  [[nodiscard]] std::int64_t at(std::int64_t n) const;
};

// Later fields lie further along the payload: a little-endian line counts bits upwards from bit 0,
// a big-endian line counts downwards from bit 7. `big` says which line a field inside one byte
// follows when it moves by part of a byte.
struct SpanStep {
  IndexFormula bits;  // bits to move by
  bool big = false;

  bool operator==(const SpanStep&) const = default;
};

// `span` moved along its line by `bits` (negative: towards byte 0); nothing if it leaves bytes
// 0..63.
[[nodiscard]] std::optional<Span> moved(const Span& span, std::int64_t bits, bool big);

}  // namespace foundling
