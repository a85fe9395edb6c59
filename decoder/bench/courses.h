// What each channel of a plan stands at in each of its steps.
#pragma once

#include <string>
#include <vector>

#include "decoder/bench/plan.h"

namespace foundling::bench {

struct Course {
  std::string name;
  const PlanChannel* channel;  // of the plan, which must outlive it
  std::vector<double> values;  // a step each, in the channel's unit; words by their index
};

// In the order of the plan's channels, series member by member.
[[nodiscard]] std::vector<Course> courses_of(const Plan& plan);

}  // namespace foundling::bench
