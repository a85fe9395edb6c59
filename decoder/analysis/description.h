// Where a field begins and ends: the number of bits it takes to write down a stretch of payload
// when those bits are read as one quantity, against the number it takes bit by bit.
//
// A field's values are coded as a quantity that keeps to its level while the channel rests
// (predictor.h), the first value after each change of the channel from the line in x. A bit outside
// is coded by itself from its predecessor (an adaptive Markov model that knows how long it has
// stood, Krichevsky-Trofimov). The true low bit of a field leans towards the field's mean even deep
// in the noise; a stranger does not. The choice with the fewest bits wins: minimum description
// length (J. Rissanen, Automatica 14 (1978) 465).
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/analysis/coding.h"
#include "decoder/analysis/rows.h"
#include "decoder/analysis/stream.h"

namespace foundling {

// The frames that are coded, each with the channel's value then and the plateau it lies on.
struct CodedFrames {
  std::vector<std::size_t> frame;  // index in the stream
  std::vector<double> x;
  std::vector<int> plateau;
  ChannelKind kind = ChannelKind::hold;
};

// At most `most` frames, evenly thinned, that lie in a row (hold) or between two readings (sample).
[[nodiscard]] CodedFrames coded_frames(const Stream& stream, const RowSet& set,
                                       std::int64_t delay_ns, std::size_t most = 4000);

// Bits to write the field's values in those frames down, given x.
[[nodiscard]] double quantity_cost(std::span<const double> raw, const CodedFrames& frames);

// Bits to write a field's values down as a quantity that has nothing to do with x.
[[nodiscard]] double lone_quantity_cost(std::span<const double> raw, const CodedFrames& frames);

// Bits to write one payload bit in those frames down by itself.
[[nodiscard]] double lone_bit_cost(const Stream& stream, int bit, const CodedFrames& frames);

// The field's values in those frames.
[[nodiscard]] std::vector<double> coded_values(const Stream& stream, const CodedFrames& frames,
                                               const Span& span, Coding coding);

}  // namespace foundling
