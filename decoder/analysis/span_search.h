// All fields of a message at once: every least significant bit, width, byte order and sign, scored
// by how much of a channel's variance the field explains, as a straight line in the channel or as a
// curve in it.
// The naive oracle beside it is tests/analysis/naive_search.h.
#pragma once

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

struct SpanSearchOptions {
  int most_bits = 24;     // wider fields are grown afterwards, from the rows themselves
  double least_r2 = 0.8;  // what is worse is not returned
};

// Every span with r2 >= least_r2, in no particular order. Spans begin and end at bits that move.
// A field inside one byte is returned once, with order single.
[[nodiscard]] std::vector<SpanScore> search_spans(const Moments& moments, std::span<const double> c,
                                                  double x_variance,
                                                  const SpanSearchOptions& options = {});

// The best r2 of all spans; 0 if there is none.
[[nodiscard]] double best_r2(const Moments& moments, std::span<const double> c, double x_variance);

// The same for curves: the share of a field's variance that the functions of the basis explain.
[[nodiscard]] std::vector<SpanScore> search_spans(const Moments& moments, const CurveCovariances& c,
                                                  const SpanSearchOptions& options = {});
[[nodiscard]] double best_r2(const Moments& moments, const CurveCovariances& c);

}  // namespace foundling
