// The slow, obvious search beside span_search.h: every field is read out of every frame, averaged
// over the rows and correlated with x. In the tests only.
#pragma once

#include <cmath>
#include <vector>

#include "decoder/analysis/moments.h"

namespace foundling {

inline double naive_r2(const MessageSeries& message, const RowSet& set, const Span& span,
                       bool is_signed) {
  std::vector<double> x;
  std::vector<double> y;
  for (const Row& row : set.rows) {
    double sum = 0;
    double n = 0;
    for (std::size_t i = 0; i < message.size(); ++i) {
      if (message.t_ns[i] < row.from_ns || message.t_ns[i] >= row.to_ns) continue;
      const std::uint64_t raw = extract(span, message.row(i));
      sum += is_signed ? static_cast<double>(sign_extend(raw, span.width()))
                       : static_cast<double>(raw);
      n += 1;
    }
    if (n == 0) continue;
    x.push_back(row.x);
    y.push_back(sum / n);
  }
  double mx = 0;
  double my = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    mx += x[i] / static_cast<double>(x.size());
    my += y[i] / static_cast<double>(x.size());
  }
  double sxx = 0;
  double sxy = 0;
  double syy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    sxx += (x[i] - mx) * (x[i] - mx);
    sxy += (x[i] - mx) * (y[i] - my);
    syy += (y[i] - my) * (y[i] - my);
  }
  return syy > 0 ? sxy * sxy / (sxx * syy) : 0;
}

}  // namespace foundling
