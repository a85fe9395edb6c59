// How far a field lags its channel: a pure delay, and a first-order low-pass on top of it, fitted
// together with the line on the single frames (a parabola through three correlations is biased).
#pragma once

#include "decoder/analysis/description.h"
#include "schemas/values/reading.h"

namespace foundling {

struct Lag {
  double delay_s = 0;           // pure delay
  double time_constant_s = 0;   // 0: none that the data show
  double time_constant_se = 0;  // its standard error, the sum of both held
  double r2 = 0;                // of the frames about the line at that lag
};

// The channel's value as a board with that lag would show it, at each of the times. `readings` in
// order of time; hold channels step, sample channels are joined by a smooth curve that overshoots
// nowhere. NaN before the first reading has passed.
[[nodiscard]] std::vector<double> lagged(const ChannelSeries& channel, const Lag& lag,
                                         std::span<const std::int64_t> times);

// Whether a lag sticks at the end of what is searched: then it lies beyond, and what was matched is
// something else or was written down at other times.
[[nodiscard]] bool at_limit_of_lag(const Lag& lag);
inline constexpr const char* lag_at_limit_note =
    "its delay sticks at the end of what was tried (0.5 s before to 5 s after): check the times "
    "written down";

// Searches delays from -0.5 s to 5 s and time constants up to 6 s.
[[nodiscard]] Lag fit_lag(const Stream& stream, const ChannelSeries& channel, const Span& span,
                          Coding coding);

}  // namespace foundling
