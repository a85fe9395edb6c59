#include "daemon/session_time.h"

#include <spdlog/spdlog.h>

namespace foundling {

SessionTime::SessionTime(std::int64_t origin_boot_ns, Clock& clock, RecordQueue& queue)
    : SessionTime(origin_boot_ns, clock, queue, clock.now()) {}

SessionTime::SessionTime(std::int64_t origin_boot_ns, Clock& clock, RecordQueue& queue,
                         const ClockPair& now)
    : clock_(clock), queue_(queue), line_(origin_boot_ns, now) {
  queue_.add_clock({line_.at_boot(now.boot_ns), now.wall_ns, 0});
}

std::int64_t SessionTime::look() {
  const ClockPair now = clock_.now();
  if (const auto step = line_.look(now)) {
    queue_.add_clock(*step);
    spdlog::warn(
        "the system clock was set {} by {:.3f} s; the recording's time line is not touched",
        step->step_ns > 0 ? "forward" : "back",
        static_cast<double>(std::abs(step->step_ns)) * 1e-9);
  }
  return line_.at_boot(now.boot_ns);
}

}  // namespace foundling
