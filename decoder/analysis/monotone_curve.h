// The curve along which a field follows its channel, without a formula: the field's mean at each
// level of the channel, made to rise or to fall throughout.
#pragma once

#include <span>
#include <vector>

#include "decoder/analysis/rows.h"

namespace foundling {

// Straight lines between nodes; ascending in x, raw strictly rising or strictly falling.
class MonotoneCurve {
 public:
  struct Node {
    double x = 0;    // unit of the channel
    double raw = 0;  // mean of the field there
  };

  // `raw`: row means (NaN where absent). Levels that break the order are put together with their
  // neighbours (isotonic regression by pooling adjacent violators; R. Barlow et al., Statistical
  // Inference under Order Restrictions, Wiley 1972). Readings of a moving channel are taken in
  // groups of neighbours.
  MonotoneCurve() = default;
  MonotoneCurve(const RowSet& set, std::span<const double> raw);

  [[nodiscard]] const std::vector<Node>& nodes() const { return nodes_; }
  [[nodiscard]] std::size_t groups() const {
    return groups_;
  }                                               // levels before any were put together
  [[nodiscard]] double raw_at(double x) const;    // the end pieces go on beyond the ends
  [[nodiscard]] double slope_at(double x) const;  // raw a unit of x
  [[nodiscard]] double x_at(double raw) const;

 private:
  [[nodiscard]] std::size_t piece_at(double x) const;

  std::size_t groups_ = 0;
  std::vector<Node> nodes_;  // two at least, or none
};

}  // namespace foundling
