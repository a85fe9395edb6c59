#include "tests/bench/recovery/track.h"

#include <algorithm>
#include <cmath>

namespace foundling::recovery {

void Track::add(double t, double value) {
  if (!knots_.empty()) {
    Knot& before = knots_.back();
    before.slope = t > before.t ? (value - before.input) / (t - before.t) : 0;
  }
  knots_.push_back({t, value, 0, value});
}

void Track::step(double t, double value, double ramp) {
  const double start = std::max(t, knots_.back().t);
  add(start, last());
  add(start + std::max(ramp, 1e-6), value);
}

// Response of y' = (u - y) / T to a straight input u = input + slope s:
// y = u - slope T + (y0 - input + slope T) exp(-s / T).
double Track::output_after(const Knot& knot, double t) const {
  const double s = t - knot.t;
  const double input = knot.input + knot.slope * s;
  if (time_constant_ <= 0) return input;
  const double lag = knot.slope * time_constant_;
  return input - lag + (knot.output - knot.input + lag) * std::exp(-s / time_constant_);
}

double Track::at(double t) const {
  if (t <= knots_.front().t) return knots_.front().output;
  const auto after =
      std::upper_bound(knots_.begin(), knots_.end(), t,
                       [](double value, const Knot& knot) { return value < knot.t; });
  return output_after(*(after - 1), t);
}

Track Track::filtered(double time_constant) const {
  Track result = *this;
  result.time_constant_ = time_constant;
  for (std::size_t i = 1; i < result.knots_.size(); ++i) {
    result.knots_[i].output = result.output_after(result.knots_[i - 1], result.knots_[i].t);
  }
  return result;
}

}  // namespace foundling::recovery
