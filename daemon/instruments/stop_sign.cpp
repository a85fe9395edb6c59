#include "daemon/instruments/stop_sign.h"

#include <poll.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdint>

namespace foundling {
namespace {

// Whole milliseconds, rounded up, so that a wait does not end a moment too early.
int milliseconds_to(Deadline until) {
  const auto left =
      std::chrono::ceil<std::chrono::milliseconds>(until - std::chrono::steady_clock::now());
  return static_cast<int>(std::clamp<std::int64_t>(left.count(), 0, 1'000'000));
}

}  // namespace

StopSign::StopSign() : event_(eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK)) {}

StopSign::~StopSign() {
  if (event_ >= 0) close(event_);
}

void StopSign::raise() {
  const std::uint64_t one = 1;
  (void)!write(event_, &one, sizeof one);
}

bool StopSign::is_raised() const { return wait_until(std::chrono::steady_clock::now()); }

bool StopSign::wait_until(Deadline until) const {
  return wait_for(-1, false, until) == Ready::stopped;
}

// poll() passes over a negative descriptor.
StopSign::Ready StopSign::wait_for(int descriptor, bool to_write, Deadline until) const {
  pollfd both[2] = {{event_, POLLIN, 0},
                    {descriptor, static_cast<short>(to_write ? POLLOUT : POLLIN), 0}};
  for (;;) {
    const int ready = poll(both, 2, milliseconds_to(until));
    if (ready < 0 && errno == EINTR) continue;
    if (ready <= 0) return Ready::late;
    return both[0].revents != 0 ? Ready::stopped : Ready::yes;
  }
}

}  // namespace foundling
