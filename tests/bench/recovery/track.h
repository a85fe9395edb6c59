// A quantity over time: straight pieces between knots, optionally behind a first-order low-pass,
// evaluated exactly (no time grid). Seconds, and the quantity's own unit.
#pragma once

#include <vector>

namespace foundling::recovery {

class Track {
 public:
  Track() = default;
  explicit Track(double constant) { add(0, constant); }

  void add(double t, double value);                // a knot; t must not fall
  void step(double t, double value, double ramp);  // from the last value to `value` in `ramp` s
  [[nodiscard]] double at(double t) const;         // ends are held
  [[nodiscard]] double last() const { return knots_.back().input; }
  [[nodiscard]] Track filtered(double time_constant) const;  // 0: unchanged

 private:
  struct Knot {
    double t;
    double input;
    double slope;   // of the input after this knot
    double output;  // behind the low-pass at t
  };
  [[nodiscard]] double output_after(const Knot& knot, double t) const;

  std::vector<Knot> knots_;
  double time_constant_ = 0;
};

}  // namespace foundling::recovery
