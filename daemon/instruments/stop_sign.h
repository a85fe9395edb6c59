// Told once, by any thread, that the work ends; whoever waits for an instrument wakes up at once.
#pragma once

#include <chrono>
#include <cstdint>

namespace foundling {

using Deadline = std::chrono::steady_clock::time_point;

class StopSign {
 public:
  StopSign();
  ~StopSign();
  StopSign(const StopSign&) = delete;
  StopSign& operator=(const StopSign&) = delete;

  void raise();
  [[nodiscard]] bool is_raised() const;
  // Until then, or until it is raised; whether it was.
  [[nodiscard]] bool wait_until(Deadline until) const;

  enum class Ready : std::uint8_t { yes, late, stopped };
  // Until the descriptor can be read (or written), or something is wrong with it.
  [[nodiscard]] Ready wait_for(int descriptor, bool to_write, Deadline until) const;

 private:
  int event_ = -1;  // an eventfd; none where the system has none left: then stops come late
};

}  // namespace foundling
