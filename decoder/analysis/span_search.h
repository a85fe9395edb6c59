// All fields of a message at once: every least significant bit, width, byte order and sign, scored
// by how much of a channel's variance the field explains, as a straight line in the channel or as a
// curve in it.
// The naive oracle beside it is tests/analysis/naive_search.h.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "decoder/analysis/curve_basis.h"
#include "decoder/analysis/moments.h"

namespace foundling {

struct SpanScore {
  Span span;
  bool is_signed = false;
  double r2 = 0;  // squared correlation of the field's row means with x, or with a curve in x
};

// The fields of a message with their variances, in which no channel has a part: made once, and held
// against as many channels, or redrawn ones, as there are. Spans begin and end at bits that move.
// A field inside one byte is there once, with order single.
class SpanTable {
 public:
  // Wider fields are grown afterwards, from the rows themselves. Needs the moments' covariance.
  explicit SpanTable(const Moments& moments, int most_bits = 24);

  // Every span with r2 >= least_r2, in no particular order. c: covariances of the moments' bits.
  [[nodiscard]] std::vector<SpanScore> search(std::span<const double> c, double x_variance,
                                              double least_r2) const;
  // The best r2 of all spans; 0 if there is none.
  [[nodiscard]] double best_r2(std::span<const double> c, double x_variance) const;

  // The same for curves: the share of a field's variance that the functions of the basis explain.
  [[nodiscard]] std::vector<SpanScore> search(const CurveCovariances& c, double least_r2) const;
  [[nodiscard]] double best_r2(const CurveCovariances& c) const;

 private:
  struct Step {  // one bit more on top of the field before it
    Span span;
    bool is_first;
    std::uint32_t column;  // of the moments
    double weight;
    double variance;  // of the field; 0 where it is none
    double variance_signed;
  };
  void grow(const Moments& moments, int lsb, ByteOrder order, int most_bits);

  std::vector<Step> steps_;
};

// The table of these moments in `kept`, made when it is first asked for, with their covariance.
[[nodiscard]] const SpanTable& table_of(Moments& moments, std::optional<SpanTable>& kept);

}  // namespace foundling
