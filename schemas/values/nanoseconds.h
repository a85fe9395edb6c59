// Seconds as a person or a map says them, in nanoseconds. What lies beyond 146 years (2^62 ns) is
// taken for that, so that such a span can be added to any time that a capture holds, and no
// conversion is undefined. What is no number is zero.
#pragma once

#include <cmath>
#include <cstdint>

namespace foundling {

[[nodiscard]] inline std::int64_t nanoseconds_of(double seconds) {
  constexpr std::int64_t most = std::int64_t{1} << 62U;
  if (std::isnan(seconds)) return 0;
  const double whole = seconds * 1e9;
  if (whole >= static_cast<double>(most)) return most;
  if (whole <= -static_cast<double>(most)) return -most;
  return std::llround(whole);
}

}  // namespace foundling
