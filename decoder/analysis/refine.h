// From the neighbourhood of a field to the field: its top and sign from the rows (what and how
// much), its low end from the single frames (description.h), until both agree.
#pragma once

#include <optional>

#include "decoder/analysis/low_end.h"
#include "decoder/analysis/span_search.h"

namespace foundling {

struct Field {
  Span span;
  Coding coding = Coding::natural;
  double r2 = 0;           // of the row means with x
  double unexplained = 1;  // 1 - r2, but never less than rounding leaves of so few codes
  double saving = 0;       // bits saved by reading these bits as one quantity
  int still_top = 0;       // of the span, the top bits that never moved
};

// The field around `start` in `stream`, its bytes in that order; none where nothing holds together.
[[nodiscard]] std::optional<Field> refine_field(const Stream& stream, const RowSet& set,
                                                std::int64_t delay_ns, const CodedFrames& frames,
                                                const SpanScore& start, ByteOrder order);

// Of two readings of the same bits: the one that leaves clearly less unexplained; between equals,
// the one that saves more.
[[nodiscard]] bool reads_better(const Field& a, const Field& b);

// Squared correlation of a field's row means with x, from the rows themselves; 0 with under 3 rows.
[[nodiscard]] double row_r2(const RowSet& set, std::span<const double> raw);

}  // namespace foundling
