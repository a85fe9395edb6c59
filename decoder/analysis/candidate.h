// A field that may carry a channel, with its line, its round numbers and its lag.
#pragma once

#include <cstdint>
#include <optional>

#include "decoder/analysis/calibration.h"
#include "decoder/analysis/delay.h"
#include "decoder/analysis/refine.h"
#include "decoder/analysis/round_numbers.h"

namespace foundling {

struct Candidate {
  std::size_t stream = 0;  // index into the streams
  Field field;
  Calibration calibration;
  RoundLine round;
  Lag lag;
  double coherence = 1;  // share of the residual that is not a slow wander, 0..1 (sample channels)
  double score = 0;      // bits; greater is better; comparable among candidates of one channel
};

// The field's line over these rows, without a lag of its own yet; none with under three levels.
// `index`: of the stream among all.
[[nodiscard]] std::optional<Candidate> complete(const Stream& stream, std::size_t index,
                                                const RowSet& set, std::int64_t delay_ns,
                                                const Field& field);

// Whether the one reads the bits that both have better than the other. A float's bits are not
// priced one by one; where it explains as much as an integer that overlaps it, plainer units tell.
[[nodiscard]] bool takes_place(const Candidate& a, const Candidate& b);

// What a proposal says of the field and its lag, and of its line.
void set_field(Proposal& proposal, const Candidate& candidate);
void set_line(Proposal& proposal, const Candidate& candidate);

// The candidate on rows read with that lag: its line, the still bits above that are its own, and
// intervals that allow for what the lag leaves open.
[[nodiscard]] Candidate with_own_lag(const Stream& stream, const ChannelSeries& channel,
                                     std::int64_t end_ns, const Candidate& candidate,
                                     const Lag& lag);

}  // namespace foundling
