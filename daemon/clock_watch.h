// Calls back when somebody sets the wall clock (timerfd_create(2), TFD_TIMER_CANCEL_ON_SET), so
// that a step is seen at once on a silent bus too.
#pragma once

#include <functional>
#include <memory>

namespace boost::asio {
class io_context;
}

namespace foundling {

class ClockWatch {
 public:
  ClockWatch(boost::asio::io_context& loop, std::function<void()> clock_was_set);
  ~ClockWatch();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace foundling
