// The sanity watch over a whole session that is held in columns: its frames in order of time again,
// with their values. Gaps are told to it, so that a counter does not count what was never recorded.
#pragma once

#include <span>
#include <vector>

#include "decoder/decode/sanity.h"
#include "decoder/report/page/page_input.h"

namespace foundling {

// Failed checks first. Empty for a map without signals, counters and checksums.
[[nodiscard]] std::vector<SanityCheck> watch_session(const SignalMap& map,
                                                     std::span<const MessageSeries> messages,
                                                     std::span<const LostStretch> lost);

}  // namespace foundling
