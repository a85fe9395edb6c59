// Puts an adapter's own receive stamps on the steady line. Its clock starts anywhere and drifts, so
// only differences of its stamps count: a stamp is moved by the smallest lag that the kernel's
// stamp of the same frame had behind it within the last seconds. What is left is the shortest way
// from the wire into the kernel, the same for all frames; the jitter of interrupts and USB is gone.
// A clock that is off by 100 ppm moves a stamp by at most 0.2 ms. Pure.
#pragma once

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <limits>

namespace foundling {

class HardwareTime {
 public:
  // The kernel's stamp of the same frame is on the steady line already; never later than it.
  std::int64_t place(std::int64_t hardware_ns, std::int64_t kernel_ns) {
    const std::int64_t lag = kernel_ns - hardware_ns;
    if (!begun_ || std::abs(lag - least()) > clock_was_set_ns) {
      begun_ = true;
      before_ = now_ = lag;
      window_from_ns_ = kernel_ns;
    }
    if (kernel_ns - window_from_ns_ > window_ns) {
      before_ = now_;
      now_ = std::numeric_limits<std::int64_t>::max();
      window_from_ns_ = kernel_ns;
    }
    now_ = std::min(now_, lag);
    return hardware_ns + least();
  }

 private:
  static constexpr std::int64_t window_ns = 1'000'000'000;
  static constexpr std::int64_t clock_was_set_ns = 1'000'000'000;  // the adapter was reset

  [[nodiscard]] std::int64_t least() const { return std::min(before_, now_); }

  bool begun_ = false;
  std::int64_t before_ = 0, now_ = 0;  // the smallest lag of the window before, and of this one
  std::int64_t window_from_ns_ = 0;
};

}  // namespace foundling
