// Published ways to find fields in unknown payloads, written anew from their descriptions, to hold
// the project's own search against. They live in the bench only.
#pragma once

#include <optional>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/reading.h"
#include "schemas/values/span.h"
#include "tests/bench/recovery/score.h"

namespace foundling::recovery {

// Bits are read big-endian; a field ends where the magnitude of the bit-flip rate falls, magnitude
// being the rate's decimal logarithm rounded up. M. Marchetti, D. Stabili, "READ: Reverse
// engineering of automotive data frames", IEEE Trans. Information Forensics and Security 14 (2019).
// The rule is from memory of the paper; its later phases (counters, checksums) are left out.
[[nodiscard]] std::vector<Span> fields_by_toggle_rate(const MessageSeries& message);

struct RegressionField {
  std::size_t message = 0;  // index
  Span span;
  double scale = 0;
  double r_squared = 0;
};

// A channel, resampled to a message's frames, is regressed on all its bits at once; the message of
// the highest coefficient of determination is kept, and the field is the longest run of bits whose
// coefficients double from one to the next. Z. Bi et al., "Bit-level automotive controller area
// network message reverse framework based on linear regression", Sensors 22 (2022) 981: steps from
// its outline; the thresholds (R² above 0.8, ratio 1.6 to 2.5) are ours, and so is leaving out two
// seconds after each change.
[[nodiscard]] std::vector<std::optional<RegressionField>> fields_by_regression(
    const std::vector<MessageSeries>& messages, const std::vector<ChannelSeries>& channels);

struct BaselineFigures {  // of excited channels with numbers
  Ratio toggle_end;       // a field found that ends at the true lowest bit
  Ratio toggle_span;      // exact on the moved bits
  Ratio regression_message;
  Ratio regression_end;    // message, lowest bit, order
  Ratio regression_span;   // exact on the moved bits
  Ratio regression_scale;  // within 0.5 %
};

void score_baselines(const RandomBoard& board, BaselineFigures& figures);

}  // namespace foundling::recovery
