// The upper bits of a field that was seen roughly. Row means of frames of which some stand for no
// value are off by a share of the field's range: the wider a field is read the further, so a part
// of it may look better than the whole. The plateaus' median codes do not move with such frames.
#pragma once

#include "decoder/analysis/rough_field.h"

namespace foundling {

// The widest reading of a field with upper bits that move from plateau to plateau and tell as much
// of the channel, at all plateaus, as the field itself does; the field where there is none.
[[nodiscard]] RoughField with_upper_bits(const RoughField& field, const Stream& stream,
                                         const ChannelSeries& channel, std::int64_t end_ns);

}  // namespace foundling
