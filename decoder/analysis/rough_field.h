// Roughly where a channel's field is, and along which line, although some readings are slips of the
// hand, some frames substitutes and all stamps late: found on part of the plateaus, held against
// all of them. The place is good enough to read the frames by; its ends are settled later.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "decoder/analysis/rows.h"
#include "decoder/analysis/span_search.h"
#include "decoder/analysis/stream.h"
#include "schemas/values/reading.h"

namespace foundling {

struct RoughLine {  // raw = intercept + slope * x
  double intercept = 0;
  double slope = 0;
  double sd = 0;  // raw, of the plateaus that agree, half a code at least
};

struct RoughField {
  std::size_t stream = 0;
  Span span;
  Coding coding = Coding::natural;
  RowOptions options;         // of the rows in which it was seen
  std::int64_t delay_ns = 0;  // at which it was seen; negative where the stamps are late
  RoughLine line;
  int plateaus = 0;   // at which the message was seen
  int agree = 0;      // of these, how many lie on the line
  double saving = 0;  // bits: what the line saves on those, less what it takes to name the others
  double r2 = 0;      // of the plateaus that agree
};

// The best of all, and at most one a stream; best first. `streams` are looked at whole.
[[nodiscard]] std::vector<RoughField> rough_fields(std::span<const Stream> streams,
                                                   const ChannelSeries& channel,
                                                   std::int64_t end_ns);

// The same without low bits that lie deep in what the line leaves, a neighbour's or noise, or that
// stand still.
[[nodiscard]] RoughField without_noise_bits(RoughField field, const Stream& stream);

// How far from the line a plateau that agrees with it may lie, raw; u: uncertainty of its x.
[[nodiscard]] double near_line(const RoughLine& line, double u);

// A field held against all rows: the line through those that agree with it, by concentration from a
// first line. None where fewer than three plateaus agree.
[[nodiscard]] std::optional<RoughField> concentrate(const RowSet& set, std::span<const double> raw,
                                                    RoughLine first);

// The same from the line that the slopes' median gives, which no far value bends.
[[nodiscard]] std::optional<RoughField> line_of_most(const RowSet& set,
                                                     std::span<const double> raw);

}  // namespace foundling
