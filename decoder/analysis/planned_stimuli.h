// Stimuli that were drawn at random, as they were and as they might have been. Pure data.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace foundling {

struct PlannedStretch {  // in which one drawn step was held, on the bench's clock
  std::int64_t from_ns = 0;
  std::int64_t to_ns = 0;
};

struct PlannedStimuli {
  std::vector<PlannedStretch> stretches;
  // By channel: its levels in the stretches, first as they were, then one list for each draw.
  std::map<std::string, std::vector<std::vector<double>>> levels;
};

}  // namespace foundling
