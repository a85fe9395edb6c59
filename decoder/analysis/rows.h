// What the bench knew about one channel, as rows: stretches of time with the value that held in
// them. Every later step sees only rows, so hold and sample channels are treated alike.
#pragma once

#include <cstdint>
#include <vector>

#include "schemas/values/reading.h"

namespace foundling {

struct Row {
  std::int64_t from_ns = 0;  // [from, to), on the bench's clock
  std::int64_t to_ns = 0;
  double x = 0;       // unit of the channel
  double u = 0;       // standard uncertainty, same unit; 0 if not stated
  double unrest = 0;  // how far x moved around then, sample channels only; same unit
  int plateau = 0;    // rows of one plateau share the reading, so also its error
};

struct RowSet {
  std::vector<Row> rows;
  ChannelKind kind = ChannelKind::hold;
  int plateaus = 0;
  int levels = 0;        // distinct values, equal within twice their uncertainty
  double plateau_s = 0;  // median length of a plateau, or of a reading's interval
};

// Settling: of each plateau the first `skip_s` seconds are left out, but never more than the share
// `skip_share` of it. A long plateau becomes several rows, so that a field which moves by itself
// while the channel rests is seen to do so. `end_ns`: when the recording ends.
struct RowOptions {
  double skip_s = 8;
  double skip_share = 0.5;
  double tail_s = 0.3;  // and at its end: a hand writes the next value down a moment late
  double tail_share = 0.1;
  std::size_t most_rows = 600;
};

[[nodiscard]] RowSet make_rows(const ChannelSeries& channel, std::int64_t end_ns,
                               const RowOptions& options = {});

// Distinct values among readings, values closer than twice their uncertainty counted once.
[[nodiscard]] int count_levels(const ChannelSeries& channel);

}  // namespace foundling
