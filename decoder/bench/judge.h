// What a plan can tell apart, drawn or edited by hand: how alike its channels go, which of them
// cannot be separated, and which are tried too little.
#pragma once

#include <string>
#include <vector>

#include "decoder/bench/plan.h"

namespace foundling::bench {

inline constexpr double told_apart_r = 0.95;  // |correlation| up to which two channels are

struct ChannelJudgement {
  std::string name;
  bool is_state = false;
  int levels = 0;         // distinct values or words
  int changes = 0;        // of a state channel
  bool extremes = false;  // both limits visited, to the grain of what can be set
};

struct PlanJudgement {
  double seconds = 0;
  std::vector<ChannelJudgement> channels;             // every member of a series by itself
  double worst_r = 0;                                 // greatest |correlation| of two channels
  std::string worst_a, worst_b;                       // that are told apart; empty: no such pair
  std::vector<std::vector<std::string>> inseparable;  // sets that go alike throughout
};

[[nodiscard]] PlanJudgement judge(const Plan& plan);

}  // namespace foundling::bench
