// The virtual practitioner's plan: a seeded, randomised and balanced order of settings, and what
// the instruments said while it was carried out. Pure. Nothing in it switches a contactor: the
// board's feedback inputs are fed by switches on the bench.
#pragma once

#include <cstdint>
#include <vector>

#include "schemas/values/reading.h"
#include "tools/board/inputs.h"

namespace foundling::board {

struct PlanOptions {
  std::uint64_t seed = 1;
  int steps = 240;
  double step_s = 3;           // mean; each step is 85 % to 115 % of it
  int single_cell_steps = 56;  // steps that move one cell and leave the others at rest
  double dwell = 1;            // scales how long the slower channels stay at a level
};

struct Setting {
  std::int64_t applied_ns = 0;  // when the terminal has the value
  Input input = Input::pack_current;
  double value = 0;  // truly there; a switch's position
  Reading reading;   // what was written down
};

struct BenchPlan {
  std::int64_t duration_ns = 0;
  std::vector<Setting> settings;  // in the order of their readings' times; the first at t = 0
};

[[nodiscard]] BenchPlan make_plan(const PlanOptions& options);

}  // namespace foundling::board
