// A stretch of a session during which something does not hold, and what a board sends meanwhile.
#pragma once

#include <cstdint>
#include <optional>

namespace foundling::recovery {

struct Window {
  double from_s = 0;
  double until_s = 0;
  [[nodiscard]] bool holds(double t) const { return from_s <= t && t < until_s; }
};

// A code that measures nothing; without one, the value before is sent on (at the start, the first).
struct Substitute {
  Window during;
  std::optional<std::uint64_t> code;
};

}  // namespace foundling::recovery
