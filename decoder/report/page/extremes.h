// The least and the greatest value in each of many equal stretches, so that a plot of an hour has
// as many points as it can show and yet no value is left out. Works over time and over any other
// quantity. Memory: 16 bytes a bucket, however many values come.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace foundling {

// `count` buckets of `step` from `start` on: what lies before or beyond goes to the first or last.
struct Grid {
  std::int64_t start = 0;  // ns where it is time
  std::int64_t step = 1;   // > 0
  std::size_t count = 1;   // > 0

  [[nodiscard]] std::size_t bucket(std::int64_t at) const;
  // The same stretch in half as many buckets.
  [[nodiscard]] Grid halved() const { return {start, step * 2, (count + 1) / 2}; }
  // The stretch first..last in at most `most` buckets, none shorter than `shortest`.
  [[nodiscard]] static Grid over(std::int64_t first, std::int64_t last, std::size_t most,
                                 std::int64_t shortest);
};

class Extremes {
 public:
  explicit Extremes(std::size_t buckets) : low_(buckets), high_(buckets), seen_(buckets) {}

  // NaN and infinities are no values and change nothing.
  void add(std::size_t bucket, double value);
  void halve();  // joins neighbours, as Grid::halved does

  [[nodiscard]] std::size_t size() const { return low_.size(); }
  [[nodiscard]] bool has(std::size_t bucket) const { return seen_[bucket]; }
  [[nodiscard]] double low(std::size_t bucket) const { return low_[bucket]; }
  [[nodiscard]] double high(std::size_t bucket) const { return high_[bucket]; }
  [[nodiscard]] bool empty() const;

 private:
  std::vector<double> low_;
  std::vector<double> high_;
  std::vector<bool> seen_;
};

}  // namespace foundling
