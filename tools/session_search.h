// The search for signals in a recorded session, as `correlate` and `report` make it: with the bench
// plan that it followed, announced where it is long, and with what it was made of.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "decoder/analysis/planned_stimuli.h"
#include "decoder/analysis/proposal.h"
#include "decoder/analysis/survey.h"
#include "schemas/capture/rows.h"
#include "schemas/values/result.h"

namespace foundling {

struct SessionPlan {  // both or neither
  std::optional<PlannedStimuli> stimuli;
  std::optional<RedrawnPlan> redrawn;
};

struct SearchOrder {
  std::string command;  // that says what is said: "correlate"
  std::string capture;
  std::string plan = {};  // file of the plan that the session followed; empty: not known
  std::uint64_t seed = 1;
};

// The plan that was named, which must fit; else the one that `bench run` left in the capture. Where
// that one does not fit, since steps were left out or done twice, it is said and not used.
[[nodiscard]] Result<SessionPlan> plan_of_session(const SearchOrder& order,
                                                  const SessionData& data);

// Says on stderr what it does and, where it will be long, how long about.
[[nodiscard]] Correlation search_session(const SearchOrder& order, const SessionData& data,
                                         const Survey& survey, const SessionPlan& plan);

}  // namespace foundling
