#include "daemon/clock.h"

#include <ctime>

namespace foundling {
namespace {

std::int64_t read_clock(clockid_t id) {
  timespec time{};
  clock_gettime(id, &time);
  return std::int64_t{time.tv_sec} * 1'000'000'000 + time.tv_nsec;
}

}  // namespace

// The wall clock between two looks at the steady one; of three tries the closest, because the
// process may be put aside in between.
ClockPair SystemClock::now() {
  ClockPair best;
  for (int attempt = 0; attempt < 3; ++attempt) {
    const std::int64_t before = read_clock(CLOCK_BOOTTIME);
    const std::int64_t wall = read_clock(CLOCK_REALTIME);
    const std::int64_t after = read_clock(CLOCK_BOOTTIME);
    const ClockPair pair{before + (after - before) / 2, wall, (after - before) / 2 + 1};
    if (attempt == 0 || pair.doubt_ns < best.doubt_ns) best = pair;
    if (best.doubt_ns < 1'000) break;
  }
  return best;
}

}  // namespace foundling
