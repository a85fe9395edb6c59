// What is turned as one on the bench: a channel, the channels of a lead, or the one source that is
// laid over sets of a series.
#pragma once

#include <string>
#include <vector>

#include "decoder/bench/plan.h"
#include "decoder/bench/random.h"

namespace foundling::bench {

struct Knob {
  std::vector<std::string> channels;  // that it moves; with in_sets, any set of them at a time
  bool in_sets = false;
  std::string unit;
  double low = 0, high = 0, rest = 0;  // of a lead: what all its channels allow
  std::vector<std::string> words;      // of a state knob
  std::string rest_word;
  int levels = default_levels;
  int repeat = default_repeat;
  double settle_s = default_settle_s;
  double jump = 0;   // 0: any
  double grain = 0;  // values are multiples of it

  [[nodiscard]] bool is_state() const { return !words.empty(); }
};

[[nodiscard]] std::vector<Knob> knobs_of(const Plan& plan);

// Up to `count` values in rising order, the limits among them, the others anywhere in their share
// of the range: evenly spaced values would be multiples of some power of two of the board's least
// step, and its low bits would never move. Fewer where the grain is too coarse.
[[nodiscard]] std::vector<double> draw_levels(const Knob& knob, int count, Random& random);

// The multiple of the knob's grain nearest to a value, within its limits.
[[nodiscard]] double to_grain(const Knob& knob, double value);

}  // namespace foundling::bench
