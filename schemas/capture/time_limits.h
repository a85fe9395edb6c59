// Which times a capture may hold. Far beyond any recording, and so far within 64 bits that no
// program that adds two of them, or takes one from another, goes over.
#pragma once

#include <cstdint>

namespace foundling {

// A hundred years of 365.25 days, either way.
inline constexpr std::int64_t longest_time_ns = 36'525LL * 86'400 * 1'000'000'000;
// Of a wall clock, since 1970: until the year 2116.
inline constexpr std::int64_t latest_wall_ns = INT64_MAX / 2;
// From the first frame of a session to its last.
inline constexpr std::int64_t longest_session_ns = longest_time_ns / 10;
static_assert(longest_time_ns <= INT64_MAX / 2);

[[nodiscard]] constexpr bool is_session_time(std::int64_t t_ns) {
  return t_ns >= -longest_time_ns && t_ns <= longest_time_ns;
}

}  // namespace foundling
