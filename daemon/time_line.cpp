#include "daemon/time_line.h"

#include <algorithm>

namespace foundling {
namespace {

// Two looks at an unstepped clock differ by less than the time between the calls; what is beyond it
// by more than this is a step.
constexpr std::int64_t smallest_step_ns = 10'000;
// Stretches kept. A frame waits in the socket for seconds at most, and nobody sets a clock that
// often.
constexpr std::size_t stretches_kept = 8;

}  // namespace

TimeLine::TimeLine(std::int64_t origin_boot_ns, const ClockPair& now) : origin_ns_(origin_boot_ns) {
  stretches_.push_back({now.wall_ns - now.boot_ns, now.doubt_ns, origin_boot_ns, now.boot_ns});
}

std::optional<ClockMark> TimeLine::look(const ClockPair& now) {
  Stretch& current = stretches_.back();
  const std::int64_t difference = now.wall_ns - now.boot_ns;
  const std::int64_t step = difference - current.wall_minus_boot_ns;
  const std::int64_t last_look = current.to_boot_ns;
  current.to_boot_ns = std::max(current.to_boot_ns, now.boot_ns);
  if (std::abs(step) <= smallest_step_ns + current.doubt_ns + now.doubt_ns) {
    if (now.doubt_ns < current.doubt_ns) {
      current.wall_minus_boot_ns = difference;
      current.doubt_ns = now.doubt_ns;
    }
    return {};
  }
  stretches_.push_back({difference, now.doubt_ns, last_look, now.boot_ns});
  if (stretches_.size() > stretches_kept) stretches_.pop_front();
  return ClockMark{at_boot(now.boot_ns), now.wall_ns, step};
}

std::int64_t TimeLine::place(std::int64_t wall_ns, std::int64_t not_before_ns) const {
  std::int64_t boot_ns = stretches_.back().to_boot_ns;  // no stretch fits: it came just now
  for (auto stretch = stretches_.rbegin(); stretch != stretches_.rend(); ++stretch) {
    const std::int64_t candidate = wall_ns - stretch->wall_minus_boot_ns;
    const std::int64_t slack = smallest_step_ns + stretch->doubt_ns;
    if (candidate >= stretch->from_boot_ns - slack && candidate <= stretch->to_boot_ns + slack) {
      boot_ns = std::min(candidate, stretches_.back().to_boot_ns);
      break;
    }
  }
  return std::max(at_boot(boot_ns), not_before_ns);
}

}  // namespace foundling
