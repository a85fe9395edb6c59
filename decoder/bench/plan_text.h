// The text of a bench plan: read with its comments, and laid out the one way. The grammar is in
// README.md. Reading goes on at the next line after a fault, so one run reports them all.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "decoder/bench/plan.h"

namespace foundling::bench {

struct PlanText {
  Plan plan;
  std::vector<Diagnostic> diagnostics;  // grammar, and what contradicts itself (check_plan.h)
  [[nodiscard]] bool ok() const { return !has_errors(diagnostics); }
};

[[nodiscard]] PlanText read_plan(std::string_view text);

// read_plan(write_plan(x)) says what x says, comments too; writing twice is writing once.
[[nodiscard]] std::string write_plan(const Plan& plan);

// "10 s", "0.2 s", "40 min": the shortest that reads back the same.
[[nodiscard]] std::string duration_text(double seconds);
// Names with those in a row told as the first to the last: cell_03..cell_09.
[[nodiscard]] std::string names_text(const std::vector<std::string>& names);
// "pack_current = 20 A", without the word `set`. `plan` knows the unit where none is written.
[[nodiscard]] std::string setting_text(const Plan& plan, const Setting& setting);

}  // namespace foundling::bench
