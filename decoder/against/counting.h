// Fields that count: whether they keep their step, and where they began anew.
#pragma once

#include <optional>

#include "decoder/against/judgements.h"

namespace foundling::held {

// A wide counter's span, with the bits above it that did not move while it was recorded: the same
// counter hours later has other values there.
[[nodiscard]] Span with_bits_above(const Span& span);

// Counters that one recording has and the other has not, or with another step or modulus.
void judge_counters(const MessagePair& pair, const std::optional<Span>& selector, Judged& judged);

// A field that goes up steadily with time, as an uptime does: the line that it follows, in codes.
struct Line {
  double first = 0, last = 0;  // code at the first and last row
  double per_second = 0;
};
// Nothing for what falls, stands, or goes by fits and starts.
[[nodiscard]] std::optional<Line> steady_line(std::span<const std::int64_t> t_ns,
                                              std::span<const std::uint64_t> codes);

}  // namespace foundling::held
