// In which order the knobs go through their levels: balanced, random, and nearly orthogonal.
#pragma once

#include <vector>

#include "decoder/bench/knob.h"
#include "decoder/bench/random.h"

namespace foundling::bench {

struct KnobOrder {
  std::vector<double> levels;             // values; of a state knob the indices of its words
  std::vector<std::size_t> at;            // index of the level, a step each
  std::vector<std::vector<bool>> covers;  // in sets: by channel, whether the source is over it
};

// One order a knob. Every level comes equally often, but for what does not divide evenly.
[[nodiscard]] std::vector<KnobOrder> draw_orders(const std::vector<Knob>& knobs, int most_levels,
                                                 int steps, Random& random);

}  // namespace foundling::bench
