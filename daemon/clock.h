// The machine's clocks, or a stand-in for them in tests.
#pragma once

#include "daemon/time_line.h"

namespace foundling {

class Clock {
 public:
  Clock() = default;
  Clock(const Clock&) = delete;
  Clock& operator=(const Clock&) = delete;
  virtual ~Clock() = default;

  virtual ClockPair now() = 0;
};

class SystemClock final : public Clock {
 public:
  ClockPair now() override;
};

}  // namespace foundling
