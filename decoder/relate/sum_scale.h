// What the readings of one voltage say of a sum's members. A sum leaves one scale open that all
// members have in common, and offsets that share: n times a member's is all that is seen. A few
// readings of the whole fix both, for every member at once.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/relate/sums.h"
#include "schemas/values/reading.h"

namespace foundling::relate {

struct SumScale {
  std::string channel;  // whose readings
  std::string unit;
  std::size_t readings = 0;  // that were used
  std::size_t left_out = 0;  // too far off
  double lag_s = 0;          // after its stamp, at which a reading fits best
  double scale = 0;          // of a member, unit a code: the round one where there is one
  double offset = 0;
  double scale_fitted = 0;
  double offset_fitted = 0;
  Interval scale_interval;  // 95 %, of the fitted line
  Interval offset_interval;
  // 95 %, of one member's scale: its own gain may be another than the common one.
  Interval member_interval = {};
  double residual_rms = 0;   // of the whole, in its unit
  std::string current = {};  // channel of a current that the whole sags with; empty: none seen
  double resistance = 0;     // whole = ... + resistance * current
};

inline constexpr std::size_t fewest_readings = 5;
// How far a member's gain may lie from the others': cell monitors are specified to some tenths of a
// percent (common practice, no source). A sum does not show it.
inline constexpr double members_gain = 0.005;

// The channel whose readings go with the sum better than with any member; nothing where none does.
[[nodiscard]] std::optional<SumScale> scale_of_sum(const LookedAt& seen, const SumRelation& sum,
                                                   std::span<const ChannelSeries> channels);

}  // namespace foundling::relate
