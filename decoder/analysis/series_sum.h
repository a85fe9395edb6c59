// A series of cell voltages against what the bench knew of the whole pack: the sum of all members
// beside the readings of another channel in the same unit.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/analysis/stream.h"
#include "schemas/values/reading.h"

namespace foundling {

struct SummedField {
  std::size_t stream = 0;
  Span span;
};

struct SumTest {
  std::string channel;  // whose readings come closest; empty: there is none to hold it against
  bool agrees = false;  // within 2 %
  double relative = 0;  // root of the mean squared difference, of the readings' mean
  std::string words;    // what a person should know; empty where there is nothing to say
};

// `like`: a member, for coding, scale, offset, unit and delay. Channels that read like a single
// member are passed over. Only for volts, and four fields at least.
[[nodiscard]] SumTest test_sum(std::span<const Stream> streams, std::span<const SummedField> fields,
                               const Proposal& like, std::span<const ChannelSeries> channels,
                               std::int64_t end_ns);

}  // namespace foundling
