// `foundling bench`: plans of what to set on the bench, step by step.
#include "tools/bench.h"

#include <memory>

#include "tools/bench_run.h"
#include "tools/command_line.h"

namespace foundling {
namespace {

std::function<int()> declare(CommandLine app) {
  auto chosen = std::make_shared<BenchRun>();
  app.require_verb(1, 1);
  declare_bench_plan(app, *chosen);
  declare_bench_next(app, *chosen);
  declare_bench_check(app, *chosen);
  declare_bench_run(app, *chosen);
  declare_bench_touch(app, *chosen);
  app.footer(
      "A plan is a text file that you edit; its format is in the manual, foundling-plan(5).\n"
      "A traction pack can kill and burn: bench work is for licensed or trained people, under the\n"
      "codes of the place, with current-limited supplies and the high-voltage path open.\n"
      "\n"
      "Example: what can be moved on the invented tractor's bench\n"
      "  foundling bench check captures_demo/tractor.bench");
  return [chosen] { return (*chosen)(); };
}

}  // namespace

Command bench_command() {
  return {"bench", "What responds to a touch; plan a bench session, walk through it", declare};
}

}  // namespace foundling
