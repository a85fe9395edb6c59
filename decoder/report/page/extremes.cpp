#include "decoder/report/page/extremes.h"

#include <algorithm>
#include <cmath>

namespace foundling {

std::size_t Grid::bucket(std::int64_t at) const {
  if (at <= start) return 0;
  return std::min(static_cast<std::size_t>((at - start) / step), count - 1);
}

Grid Grid::over(std::int64_t first, std::int64_t last, std::size_t most, std::int64_t shortest) {
  const std::int64_t length = std::max<std::int64_t>(last - first, 0) + 1;
  const auto buckets = static_cast<std::int64_t>(std::max<std::size_t>(most, 1));
  const std::int64_t step = std::max({(length + buckets - 1) / buckets, shortest, std::int64_t{1}});
  return {first, step, static_cast<std::size_t>((length + step - 1) / step)};
}

void Extremes::add(std::size_t bucket, double value) {
  if (!std::isfinite(value)) return;
  low_[bucket] = seen_[bucket] ? std::min(low_[bucket], value) : value;
  high_[bucket] = seen_[bucket] ? std::max(high_[bucket], value) : value;
  seen_[bucket] = true;
}

void Extremes::halve() {
  Extremes half((size() + 1) / 2);
  for (std::size_t i = 0; i < size(); ++i) {
    if (!has(i)) continue;
    half.add(i / 2, low_[i]);
    half.add(i / 2, high_[i]);
  }
  *this = std::move(half);
}

bool Extremes::empty() const { return std::find(seen_.begin(), seen_.end(), true) == seen_.end(); }

}  // namespace foundling
