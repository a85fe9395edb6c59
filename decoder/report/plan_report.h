// Which channels a bench plan can and cannot distinguish and how long it takes, in sentences.
#pragma once

#include <string>

#include "decoder/bench/judge.h"
#include "decoder/report/paragraph.h"

namespace foundling {

// Whole lines.
[[nodiscard]] std::string plan_report(const bench::Plan& plan,
                                      const bench::PlanJudgement& judgement,
                                      std::size_t width = line_width);

}  // namespace foundling
