// From one step of a plan to the next without going too far at once: never further than a knob's
// jump, and never more than twice as far from rest as it has been on that side before (a quarter of
// the way to the limit at first; a source over sets of cells is tried out once for all of them).
#pragma once

#include <vector>

#include "decoder/bench/knob.h"

namespace foundling::bench {

struct Target {
  double value = 0;          // of a state knob the index of the word
  std::vector<bool> covers;  // in sets: by channel
};

class SafePath {
 public:
  explicit SafePath(const std::vector<Knob>& knobs);

  // Everything set to where it stands: the first step of a plan.
  [[nodiscard]] Step begin() const;
  // The steps to these targets, one each knob; the last of them reaches all targets. One step
  // without settings where they are reached already.
  [[nodiscard]] std::vector<Step> go(const std::vector<Target>& targets);
  [[nodiscard]] std::vector<Target> rest() const;

 private:
  struct State {
    Target now;
    double reach_up = 0, reach_down = 0;  // the farthest from rest so far, on either side
  };

  [[nodiscard]] bool there(std::size_t knob, const Target& target) const;
  [[nodiscard]] double towards(std::size_t knob, double from, double to) const;
  Target next(std::size_t knob, const Target& target) const;
  Step advance(const std::vector<Target>& targets);

  const std::vector<Knob>& knobs_;
  std::vector<State> states_;
};

}  // namespace foundling::bench
