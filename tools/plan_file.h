// Bench plans as files, read with their diagnostics shown.
#pragma once

#include <iosfwd>
#include <string>

#include "decoder/bench/plan.h"
#include "schemas/values/result.h"

namespace foundling {

struct PlanFile {
  std::string path;
  std::string text;  // as it stands in the file
  bench::Plan plan;
};

// Diagnostics go to `messages`. An error where the file cannot be read or the plan has faults.
[[nodiscard]] Result<PlanFile> load_plan_file(const std::string& path, std::ostream& messages);

}  // namespace foundling
