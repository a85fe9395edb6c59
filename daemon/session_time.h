// The session's time line kept against the machine's clocks: looks, and records every clock step.
#pragma once

#include <cstdint>

#include "daemon/clock.h"
#include "daemon/record_queue.h"
#include "daemon/time_line.h"

namespace foundling {

class SessionTime {
 public:
  // t_ns 0 is at origin_boot_ns. Clock and queue must outlive it. Records where the clocks stand.
  SessionTime(std::int64_t origin_boot_ns, Clock& clock, RecordQueue& queue);

  // Looks at the clocks, and says what time it is on the line.
  std::int64_t look();
  [[nodiscard]] const TimeLine& line() const { return line_; }

 private:
  SessionTime(std::int64_t origin_boot_ns, Clock& clock, RecordQueue& queue, const ClockPair& now);

  Clock& clock_;
  RecordQueue& queue_;
  TimeLine line_;
};

}  // namespace foundling
