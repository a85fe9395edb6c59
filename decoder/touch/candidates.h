// What may answer to a touch: a bit, a small field, or how often a message is sent. Finds those
// that moved in a window, with their values in its bins. Pure.
#pragma once

#include <compare>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <vector>

#include "decoder/touch/shapes.h"
#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling::touch {

struct MessageKey {
  std::uint8_t bus = 0;
  CanId id;
  auto operator<=>(const MessageKey&) const = default;
};

struct Candidate {
  MessageKey message;
  std::optional<std::uint64_t> page;  // only frames whose selector says so
  std::optional<Span> span;           // nothing: how often the message is sent
  Shape shape = Shape::step;
  auto operator<=>(const Candidate&) const = default;

  [[nodiscard]] bool is_bit() const { return span && span->width() == 1; }
};

using Selectors = std::map<MessageKey, Span>;

struct Trace {
  Candidate candidate;
  Moments moments;
  double before = 0, after = 0;  // mean over the bins before the first place, and at the end
};

// Everything that moved from `start_ns` on, for one window, by candidate.
[[nodiscard]] std::vector<Trace> traces_in(std::span<const Frame> frames, std::int64_t start_ns,
                                           const Timing& timing, const Selectors& selectors);

// Bits that were not the same in all frames of their message (and page), and messages that were
// there: what is known before the first turn.
struct Known {
  std::set<Candidate> moving;
  std::set<MessageKey> messages;
};
[[nodiscard]] Known known_before(std::span<const Frame> frames, const Selectors& selectors);

}  // namespace foundling::touch
