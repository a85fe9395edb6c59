// When the board changed: the moment from which a field shows each reading of a channel that holds.
// A hand's stamps are late, each by its own amount, a board's answers too; the frames say when. The
// cheapest way to share the frames out among the readings in their order, by dynamic programming
// (A. J. Viterbi, IEEE Trans. Inf. Theory 13 (1967) 260).
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/analysis/rough_field.h"

namespace foundling {

struct Shown {               // one reading, as the board shows it
  std::size_t reading = 0;   // index in the channel
  std::int64_t from_ns = 0;  // frames from here on, to the next one's
  std::int64_t to_ns = 0;
  double expected = 0;  // raw, by the line
  double level = 0;     // raw, the middle value of what was sent then; NaN without a frame
  std::size_t frames = 0;
  bool sharp = false;  // its beginning is a step that stands out of the noise
};

struct FieldTrack {  // a field's values, thinned evenly
  std::vector<std::int64_t> times;
  std::vector<double> raw;
  double noise = 0;  // standard deviation of single values about their level
};

[[nodiscard]] FieldTrack field_track(const Stream& stream, const Span& span, Coding coding,
                                     std::size_t most);

// In order of the readings; empty where there are too many readings to be typed ones, or no frames.
// `usual_s`: how long after its stamp a reading usually shows. `believed`: no slip is left among
// the readings, so that a number between two of them is on its way from one to the other.
[[nodiscard]] std::vector<Shown> change_times(const FieldTrack& track, const ChannelSeries& channel,
                                              const RoughLine& line, double usual_s, bool believed);

}  // namespace foundling
