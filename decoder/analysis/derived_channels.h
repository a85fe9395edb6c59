// Channels that follow from those the bench set: a board often sends the sum, the mean, the least
// and the greatest of its cells, the power and the charge. They are looked for like the others and
// marked as derived.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "schemas/values/reading.h"

namespace foundling {

// Names end in what was done: cell_sum, cell_mean, cell_min, cell_max, cell_spread; power;
// pack_current_charge (Ah). `end_ns` is where integration ends. Sets are numeric channels with one
// unit and names that differ in a trailing number, four at least.
[[nodiscard]] std::vector<ChannelSeries> derive_channels(std::span<const ChannelSeries> channels,
                                                         std::int64_t end_ns);

}  // namespace foundling
