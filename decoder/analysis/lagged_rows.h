// A channel's rows as a board that lags saw them.
#pragma once

#include "decoder/analysis/delay.h"
#include "decoder/analysis/rows.h"

namespace foundling {

// Hold channels: settled parts only, and of what settling is left the expected share taken into
// account. Sample channels: x as the low-pass shows it at the very frames, and how restless it was
// (Row::unrest). The rows' times stay the bench's: they are to be read with the lag's delay.
[[nodiscard]] RowSet lagged_rows(const Stream& stream, const ChannelSeries& channel, const Lag& lag,
                                 std::int64_t end_ns);

}  // namespace foundling
