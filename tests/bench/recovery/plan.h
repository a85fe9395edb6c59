// The stimulus plan of a bench session: which channel is set to what, and when.
#pragma once

#include <vector>

#include "tests/bench/recovery/recipe.h"
#include "tests/bench/recovery/rng.h"

namespace foundling::recovery {

struct PlanItem {
  double low = 0;
  double high = 1;
  int levels = 8;
  bool is_state = false;  // values are 0..levels-1
  int follows = -1;       // index of the item that this one moves together with, or -1
};

struct Change {
  double t_s = 0;
  double value = 0;
};

struct Plan {
  double duration_s = 0;
  std::vector<std::vector<Change>> changes;  // an item each; the first change is at time 0
};

[[nodiscard]] Plan draw_plan(const std::vector<PlanItem>& items, const Recipe& recipe, Rng& rng);

}  // namespace foundling::recovery
