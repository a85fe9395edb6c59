// A clock that the test sets.
#pragma once

#include "daemon/clock.h"

namespace foundling {

class FakeClock final : public Clock {
 public:
  ClockPair pair{1'000'000'000, 1'700'000'000'000'000'000, 100};

  ClockPair now() override { return pair; }
  void pass(std::int64_t ns) {
    pair.boot_ns += ns;
    pair.wall_ns += ns;
  }
  void set_wall_by(std::int64_t ns) { pair.wall_ns += ns; }
};

inline constexpr std::int64_t ms = 1'000'000;
inline constexpr std::int64_t second = 1'000 * ms;

}  // namespace foundling
