// A channel as the frames bear it out: readings moved to where the board changed, where a hand
// stamped them late; readings that the field contradicts taken out; and the times at which the
// field stood for no value (a substitute: zeros, ones, a fixed code, the last value kept).
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/analysis/rough_field.h"

namespace foundling {

struct OddReading {          // the field says otherwise
  std::size_t reading = 0;   // index in the channel
  double expected = 0;       // value of the channel that the field shows
  std::int64_t from_ns = 0;  // the board had settled on it in these frames
  std::int64_t to_ns = 0;
};

struct Substitute {  // frames [first, last] of the field's stream
  std::int64_t from_ns = 0;
  std::int64_t to_ns = 0;  // of the last frame, included
  std::uint64_t raw = 0;
  bool at_start = false;  // of the recording, or after the message had paused
};

struct CleanedChannel {
  ChannelSeries series;    // what the field contradicts is not known in it
  ChannelSeries repaired;  // the same with what the field says instead
  bool retimed = false;
  std::vector<OddReading> odd;
  std::vector<Substitute> substitutes;
};

// The shift by which a retimed channel runs ahead of the field: so that its lag comes out positive,
// with a low-pass, too.
inline constexpr double retimed_lead_s = 0.5;

[[nodiscard]] CleanedChannel clean_channel(const Stream& stream, const ChannelSeries& channel,
                                           const RoughField& field);

// How near to what was right a slip must come to be explained, unit of the channel; u: stated
// uncertainty of the reading.
[[nodiscard]] double slip_tolerance(const RoughLine& line, double u);

// What seems to have happened to a reading of `channel` for which `expected` was right; `channels`:
// whose values it may be instead.
[[nodiscard]] Slip slip_kind(std::span<const ChannelSeries> channels, const ChannelSeries& channel,
                             const OddReading& odd, double tolerance);

}  // namespace foundling
