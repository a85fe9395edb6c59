// What a family of boards is made of: how many quantities, how they are coded and packed, how the
// bench session went. Drawn once a board.
#pragma once

#include <vector>

#include "tests/bench/recovery/family.h"
#include "tests/bench/recovery/rng.h"

namespace foundling::recovery {

struct Bounds {
  double low = 0;
  double high = 0;
  [[nodiscard]] double draw(Rng& rng) const { return rng.uniform(low, high); }
  [[nodiscard]] double draw_log(Rng& rng) const { return rng.log_uniform(low, high); }
};

enum class PlanStyle { mixed, one_at_a_time, all_at_once };

struct Recipe {
  // quantities
  int cells = 12, cells_moved = 6;
  int temperatures = 5, temperatures_moved = 2;
  int others_moved = 3;  // pack voltage, supply, insulation, flow, ...
  int states_moved = 1;  // switches and modes
  int state_machines = 1;
  int samples = 1;                            // moving quantities read by an instrument
  int no_signal = 1;                          // channels that the board does not send
  int silent_samples = 0, silent_states = 0;  // likewise, read by an instrument; switches
  int decoys = 4;                             // slow drifts, sines, ambient temperatures
  int walks = 3;                              // random-walk bytes
  int confounded_sets = 0;
  int few_levels = 0;  // channels with too few levels to be found

  // coding
  bool little = false;
  bool signed_current = false;
  bool packed = false;  // any width, no alignment
  bool j1939 = false;
  bool fd = false;
  bool paged = false;
  bool extended = false;
  bool wide = false;    // float32 and 24-bit fields
  bool curved = false;  // sensors sent as the converter reads them
  Bounds noise_lsb{0.1, 2};
  Bounds delay_s{0, 0.5};
  Bounds time_constant_s{0, 0.3};
  double gain_error = 0;  // largest, relative
  double zero_lsb = 0;    // largest
  double saturation_chance = 0;
  double reserved_start_s = 0;

  // bench session
  PlanStyle plan = PlanStyle::mixed;
  bool staircase = false;  // every channel once through its levels, upwards or downwards
  Bounds dwell_s{4, 10};
  int levels_low = 7, levels_high = 20;
  double clock_offset_s = 0;  // readings stamped this much early
  double clock_drift = 0;     // s a s

  // traffic
  std::vector<double> periods_s{0.01, 0.02, 0.05, 0.1, 0.1, 0.2, 0.5};
  double event_driven_chance = 0;
};

[[nodiscard]] Recipe draw_recipe(Family family, Rng& rng);

// What a disturbed family needs of the board and the session that it disturbs.
void suit(Family disturbed, Recipe& recipe, Rng& rng);

}  // namespace foundling::recovery
