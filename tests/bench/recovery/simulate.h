// Turns a board's messages into frames.
#pragma once

#include <vector>

#include "schemas/values/frame.h"
#include "tests/bench/recovery/layout.h"

namespace foundling::recovery {

struct SentField {          // what was seen of a field, by message and field index
  std::uint64_t moved = 0;  // bits that changed while no reserved code was sent
  std::uint64_t moved_at_all = 0;
};

struct SentMessage {
  MessageSeries series;
  std::vector<SentField> fields;
};

[[nodiscard]] SentMessage simulate(const MessageSpec& message,
                                   const std::vector<Quantity>& quantities, double duration_s,
                                   Rng& rng);

}  // namespace foundling::recovery
