// One point a plateau: the median of a field's row means there, so that a stretch of substitutes on
// a long plateau does not move it.
#pragma once

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include "decoder/analysis/rows.h"

namespace foundling {

// The middle value, the upper one of two; 0 of nothing.
[[nodiscard]] inline double median_of(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

struct PlateauPoints {
  std::vector<double> x;
  std::vector<double> raw;
  std::vector<double> u;

  PlateauPoints(const RowSet& set, std::span<const double> raw_means) {
    for (std::size_t i = 0; i < set.rows.size();) {
      std::vector<double> means;
      std::size_t end = i;
      for (; end < set.rows.size() && set.rows[end].plateau == set.rows[i].plateau; ++end) {
        if (std::isfinite(raw_means[end])) means.push_back(raw_means[end]);
      }
      if (!means.empty()) {
        x.push_back(set.rows[i].x);
        u.push_back(set.rows[i].u);
        raw.push_back(median_of(std::move(means)));
      }
      i = end;
    }
  }
  [[nodiscard]] std::size_t size() const { return x.size(); }
};

}  // namespace foundling
