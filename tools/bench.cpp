// `foundling bench`: plans of what to set on the bench, step by step.
#include "tools/bench.h"

#include <CLI/CLI.hpp>
#include <memory>

#include "tools/bench_run.h"

namespace foundling {
namespace {

std::function<int()> declare(CLI::App& app) {
  auto chosen = std::make_shared<std::function<int()>>();
  app.require_subcommand(1);
  declare_bench_run(app, *chosen);
  app.footer(
      "A plan is a text file that you edit; its format is in decoder/bench/README.md.\n"
      "\n"
      "Example: walk through a plan while foundlingd records\n"
      "  foundling bench run tractor.plan tractor.capture");
  return [chosen] { return (*chosen)(); };
}

}  // namespace

Command bench_command() { return {"bench", "Walk through a bench plan, step by step", declare}; }

}  // namespace foundling
