// Draws the steps of a bench plan from what can be moved: every knob gets balanced levels in random
// order at every step, so that many channels are told apart at once, and the orders are exchanged
// until no two channels go alike. Pure: the same channels and seed give the same steps.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "decoder/bench/plan.h"
#include "schemas/values/result.h"

namespace foundling::bench {

inline constexpr int fewest_levels = 5;         // for a straight line to be judged
inline constexpr int fewest_changes = 8;        // of a switch, for chance to be ruled out
inline constexpr double first_reach = 0.25;     // of the way to a limit, at the first excursion
inline constexpr double on_the_way_hold_s = 1;  // of a step that is only on the way, at least

struct Drawn {
  Plan plan;                       // what could be moved, with steps and the seed
  std::vector<std::size_t> drawn;  // of the steps, those with drawn levels; the rest are at rest
                                   // or on the way
  int most_levels = 0;             // that any channel could have
  int levels_cut = 0;              // the most levels a channel has, where time forced fewer; else 0
  int repeat_cut = 0;              // how often each comes, where time forced fewer; else 0
};

// `of` with its steps replaced. An error where nothing can be moved, or where not even
// `fewest_levels` of everything fit into `at-most`.
[[nodiscard]] Result<Drawn> draw_plan(const Plan& of, std::uint64_t seed);

// The same with so many drawn steps and at most so many levels a channel, whatever `repeat` and
// `at-most` say: how a plan of the same kind might have come out with another seed.
[[nodiscard]] Result<Drawn> draw_steps(const Plan& of, std::uint64_t seed, int steps,
                                       int most_levels);

}  // namespace foundling::bench
