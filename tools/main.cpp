#include <CLI/CLI.hpp>
#include <iostream>

#include "tools/command.h"

int main(int argc, char** argv) {
  CLI::App app{"Foundling finds out what an orphaned battery board says on its CAN bus."};
  app.set_version_flag("--version", "foundling " FOUNDLING_VERSION);
  app.require_subcommand(1);
  std::function<int()> action;
  for (const foundling::Command& command : foundling::commands()) {
    CLI::App* sub = app.add_subcommand(std::string(command.name), std::string(command.summary));
    sub->callback([&action, run = command.declare(*sub)] { action = run; });
  }
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& problem) {
    return app.exit(problem) == 0 ? foundling::exit_good : foundling::exit_trouble;
  }
  return action();
}
