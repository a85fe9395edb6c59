// Frames in which a field stands for no value: zeros, ones, a fixed code or a kept value, from the
// start of the recording, after a pause, or in bursts. What gives them away is that the field is
// far off what it should show and says one and the same code for a while.
#pragma once

#include <vector>

#include "decoder/analysis/change_times.h"
#include "decoder/analysis/cleaned_channel.h"

namespace foundling {

// `shown`: when the board showed which reading.
[[nodiscard]] std::vector<Substitute> substitutes_among(const Stream& stream,
                                                        const RoughField& field,
                                                        const RoughLine& line,
                                                        const std::vector<Shown>& shown);

// The same of a channel that moves all the time.
[[nodiscard]] std::vector<Substitute> substitutes_of_moving(const Stream& stream,
                                                            const ChannelSeries& channel,
                                                            const RoughField& field);

}  // namespace foundling
