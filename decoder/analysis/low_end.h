// Where a field ends: of all least significant bits below a known top, the one with which the
// stretch of payload takes the fewest bits to write down (description.h).
#pragma once

#include <optional>

#include "decoder/analysis/description.h"

namespace foundling {

// The bit below one on a field's way down, in a payload of so many bits; none where it ends, or
// where a field within one byte has no order to go on in.
[[nodiscard]] std::optional<BitPosition> next_below(BitPosition at, ByteOrder order, int bits);

struct LowEnd {
  Span span;          // same MSB and order, least significant bit chosen
  double saving = 0;  // bits saved against coding every bit of the stretch by itself
};

// Chooses the least significant bit of a field whose top is known. The stretch runs from the top
// down to the first owned bit, the end of the payload, or `most_bits`.
[[nodiscard]] LowEnd choose_low_end(const Stream& stream, const CodedFrames& frames,
                                    BitPosition msb, ByteOrder order, bool is_signed,
                                    int most_bits = 32);

}  // namespace foundling
