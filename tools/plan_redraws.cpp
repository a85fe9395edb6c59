#include "tools/plan_redraws.h"

#include <utility>

#include "decoder/bench/redraw.h"
#include "tools/recorded_plan.h"

namespace foundling {
Result<PlannedStimuli> redraw_plan(const bench::Plan& plan, const SessionData& data,
                                   const std::vector<StoredMark>& marks, std::uint64_t seed) {
  if (!plan.seed) return Error{ErrorCode::usage, "the plan has no seed"};
  const auto drawn = bench::drawn_again(plan);
  if (!drawn) return Error{ErrorCode::usage, "the plan was edited after it was drawn"};
  auto held =
      bench::stretches_of(*drawn, readings_of_steps(data.channels, marks), data.session.last_ns);
  if (!held) return Error{ErrorCode::usage, "the readings do not follow the plan step by step"};
  bench::Redrawn redrawn = bench::redraw(*drawn, *std::move(held), seed, plan_draws);
  PlannedStimuli out;
  for (const bench::Stretch& s : redrawn.stretches) out.stretches.push_back({s.from_ns, s.to_ns});
  out.levels = std::move(redrawn.levels);
  return out;
}

}  // namespace foundling
