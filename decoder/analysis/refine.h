// From the neighbourhood of a field to the field: its top and sign from the rows (what and how
// much), its low end from the single frames (description.h), until both agree.
#pragma once

#include <map>
#include <optional>

#include "decoder/analysis/low_end.h"
#include "decoder/analysis/span_search.h"

namespace foundling {

struct Field {
  Span span;
  Coding coding = Coding::natural;
  double r2 = 0;        // of the row means with x
  double rounding = 0;  // what rounding leaves unexplained of so few codes, at least
  double saving = 0;    // bits saved by reading these bits as one quantity
  int still_top = 0;    // of the span, the top bits that never moved
};

// Refines fields of one stream against one channel. Keeps the low ends it worked out, since
// neighbouring starts lead to the same top. Refers to its arguments; they must outlive it.
class Refinery {
 public:
  Refinery(const Stream& stream, const RowSet& set, std::int64_t delay_ns);

  // The field around `start`, its bytes in that order; none where nothing holds together.
  [[nodiscard]] std::optional<Field> refine(const SpanScore& start, ByteOrder order);

 private:
  struct Top {
    BitPosition msb;
    ByteOrder order = ByteOrder::single;
    bool is_signed = false;
    auto operator<=>(const Top&) const = default;
  };

  [[nodiscard]] std::optional<Top> choose_top(BitPosition lsb, ByteOrder order);
  [[nodiscard]] const std::vector<double>& bit_means(BitPosition p);

  const Stream& stream_;
  const RowSet& set_;
  FrameRanges ranges_;  // of the rows
  CodedFrames frames_;
  std::map<int, std::vector<double>> bit_means_;  // of a bit over the rows
  std::map<Top, LowEnd> low_ends_;
};

// What a leaves unexplained against what b does; what rounding alone may leave of either, and so
// may be small by luck, does not count.
[[nodiscard]] double unexplained_ratio(const Field& a, const Field& b);

// Of two readings of the same bits: the one that leaves clearly less unexplained; between equals,
// the one that saves more.
[[nodiscard]] bool reads_better(const Field& a, const Field& b);

// Squared correlation of a field's row means with x, from the rows themselves; 0 with under 3 rows.
[[nodiscard]] double row_r2(const RowSet& set, std::span<const double> raw);

}  // namespace foundling
