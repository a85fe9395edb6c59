// Whether a field that was never moved reads like others of its kind.
#pragma once

#include <span>
#include <vector>

#include "decoder/analysis/coding.h"
#include "decoder/analysis/stream.h"

namespace foundling {

// What the tested members of a series say: how far their raw numbers reach, and how much they
// change from frame to frame while they rest.
struct LikeValues {
  double low = 0;
  double high = 0;
  double roughness = 0;  // greatest of the members' median steps, LSB
};

[[nodiscard]] std::vector<double> numbers_of(const Stream& stream, const Span& span, Coding coding);

void take_in(LikeValues& like, std::span<const double> numbers);

// The window around the tested members' reach in which another member is believed.
[[nodiscard]] double window_low(const LikeValues& like);
[[nodiscard]] double window_high(const LikeValues& like);

// Nearly all frames in the window, no rougher than the tested ones, not all zeros or all ones, and
// no bit of it a counter's, a checksum's or a selector's.
[[nodiscard]] bool reads_alike(const Stream& stream, const Span& span, Coding coding,
                               const LikeValues& like);

}  // namespace foundling
