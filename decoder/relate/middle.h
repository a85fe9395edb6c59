// The middle value, and what part of a size is usual: medians, that no far value bends.
#pragma once

#include <algorithm>
#include <cmath>
#include <vector>

namespace foundling::relate {

[[nodiscard]] inline double at_share(std::vector<double> values, double share) {
  if (values.empty()) return 0;
  const auto at = values.begin() +
                  static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1) + 0.5);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

[[nodiscard]] inline double middle(std::vector<double> values) {
  return at_share(std::move(values), 0.5);
}

// A standard deviation from the middle size: that of a normal distribution is 0.6745 of it.
[[nodiscard]] inline double usual_size(std::vector<double> values) {
  for (double& value : values) value = std::abs(value);
  return middle(std::move(values)) / 0.6745;
}

}  // namespace foundling::relate
