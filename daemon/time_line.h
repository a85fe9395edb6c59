// Puts the kernel's receive stamps, which are wall-clock times, on the session's steady line.
//
// The wall clock of a small computer steps when it first hears the time from the network. The
// difference between wall clock and CLOCK_BOOTTIME is constant but for such steps (rate corrections
// move both alike), so stretches of constant difference are kept, each with the time in which it
// held. A stamp belongs to the newest stretch that puts it inside its own time: frames queued
// before a step are read after it. Pure: clocks are read by the caller.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>

#include "schemas/capture/rows.h"

namespace foundling {

// Both clocks, read together. The wall clock was read within doubt_ns of boot_ns.
struct ClockPair {
  std::int64_t boot_ns = 0;
  std::int64_t wall_ns = 0;
  std::int64_t doubt_ns = 0;
};

class TimeLine {
 public:
  // t_ns 0 is at origin_boot_ns.
  TimeLine(std::int64_t origin_boot_ns, const ClockPair& now);

  // To be called after every read of a socket and on every hint that the clock was set: a stamp
  // made later than the last look cannot be placed. Returns the step, if there was one.
  std::optional<ClockMark> look(const ClockPair& now);

  // Never before not_before_ns (the bus's last frame), never after the last look.
  [[nodiscard]] std::int64_t place(std::int64_t wall_ns, std::int64_t not_before_ns) const;

  [[nodiscard]] std::int64_t at_boot(std::int64_t boot_ns) const { return boot_ns - origin_ns_; }

 private:
  struct Stretch {
    std::int64_t wall_minus_boot_ns;
    std::int64_t doubt_ns;
    std::int64_t from_boot_ns;  // the last look before it: the step happened after that
    std::int64_t to_boot_ns;    // the first look after it, or the last look
  };

  std::int64_t origin_ns_;
  std::deque<Stretch> stretches_;  // oldest first, never empty
};

}  // namespace foundling
