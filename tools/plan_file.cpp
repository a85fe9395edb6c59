#include "tools/plan_file.h"

#include <ostream>
#include <utility>

#include "decoder/bench/plan_text.h"
#include "tools/text_file.h"

namespace foundling {

Result<PlanFile> load_plan_file(const std::string& path, std::ostream& messages) {
  auto text = read_text_file(path);
  if (!text) return text.error();
  bench::PlanText read = bench::read_plan(*text);
  messages << describe(read.diagnostics, path, *text);
  if (!read.ok()) {
    return Error{ErrorCode::format, path + ": the bench plan has errors, nothing was done"};
  }
  return PlanFile{path, std::move(*text), std::move(read.plan)};
}

}  // namespace foundling
