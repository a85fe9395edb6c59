#include "daemon/clock_watch.h"

#include <sys/timerfd.h>
#include <unistd.h>

#include <cerrno>
#include <cstdint>
#include <limits>
#include <utility>

#include "daemon/asio.h"

namespace foundling {

struct ClockWatch::State {
  asio::posix::stream_descriptor timer;
  std::function<void()> clock_was_set;

  State(asio::io_context& loop, std::function<void()> callback)
      : timer(loop), clock_was_set(std::move(callback)) {
    const int descriptor = timerfd_create(CLOCK_REALTIME, TFD_CLOEXEC | TFD_NONBLOCK);
    if (descriptor < 0) return;  // steps are then seen with the next frame or health row
    timer.assign(descriptor);
    arm();
    wait();
  }

  // Never meant to expire: only its cancellation counts.
  void arm() {
    itimerspec never{};
    never.it_value.tv_sec = std::numeric_limits<std::int32_t>::max() * 2LL;
    timerfd_settime(timer.native_handle(), TFD_TIMER_ABSTIME | TFD_TIMER_CANCEL_ON_SET, &never,
                    nullptr);
  }

  void wait() {
    timer.async_wait(asio::posix::stream_descriptor::wait_read,
                     [this](const boost::system::error_code& failure) {
                       if (failure) return;
                       std::uint64_t expirations = 0;
                       const auto got =
                           ::read(timer.native_handle(), &expirations, sizeof expirations);
                       const bool cancelled = got < 0 && errno == ECANCELED;
                       arm();
                       if (cancelled) clock_was_set();
                       wait();
                     });
  }
};

ClockWatch::ClockWatch(boost::asio::io_context& loop, std::function<void()> clock_was_set)
    : state_(std::make_unique<State>(loop, std::move(clock_was_set))) {}

ClockWatch::~ClockWatch() = default;

}  // namespace foundling
