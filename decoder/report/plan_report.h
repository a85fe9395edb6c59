// What a bench plan can and cannot tell apart and how long it takes, in sentences.
#pragma once

#include <string>

#include "decoder/bench/judge.h"

namespace foundling {

// Whole lines.
[[nodiscard]] std::string plan_report(const bench::Plan& plan,
                                      const bench::PlanJudgement& judgement);

}  // namespace foundling
