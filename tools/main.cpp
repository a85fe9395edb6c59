#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>
#include <iostream>

#include "tools/command.h"
#include "tools/command_line.h"
#include "tools/help_page.h"
#include "tools/shown_streams.h"
#include "tools/usage_error.h"

namespace foundling {
namespace {

constexpr const char* about =
    "Foundling finds out what an orphaned battery board says on its CAN bus: it listens, and "
    "never\n"
    "sends on its own. What it decodes is unverified until checked, and protects nothing.";

constexpr const char* overview_footer =
    "foundling COMMAND --help shows a command's options and an example.\n"
    "Recording is the work of the other program: foundlingd --help.\n"
    "\n"
    "Example: the whole job on an invented board\n"
    "  foundling demo bench.capture && foundling correlate bench.capture";

// A full disk or a closed pipe behind stdout must not pass for success.
int finished(int status) {
  std::cout.flush();
  if (std::cout && std::fflush(stdout) == 0) return status;
  std::cerr << "foundling: error: the output could not be written\n";
  return exit_trouble;
}

int run(int argc, char** argv) {
  CLI::App app{about, "foundling"};
  app.formatter(std::make_shared<HelpPage>());
  app.footer(overview_footer);
  app.set_version_flag("--version", "foundling " FOUNDLING_VERSION, "Print the version");
  app.set_help_flag("-h,--help", "Print this page");
  app.require_subcommand(1);
  std::function<int()> action;
  for (const Command& command : commands()) {
    CLI::App* sub = app.add_subcommand(std::string(command.name), std::string(command.summary));
    sub->group("Commands");
    sub->callback(
        [&action, run_command = command.declare(CommandLine(*sub))] { action = run_command; });
  }
  if (argc == 1) {
    std::cout << app.help();
    return exit_good;
  }
  try {
    app.parse(argc, argv);
  } catch (const CLI::Success& page) {  // a help page or the version was asked for
    app.exit(page);
    return exit_good;
  } catch (const CLI::ParseError& problem) {
    std::cerr << explain_usage_error(app, problem);
    return exit_trouble;
  }
  return action();
}

}  // namespace
}  // namespace foundling

int main(int argc, char** argv) {
  const foundling::ShownStreams streams;
  try {
    return foundling::finished(foundling::run(argc, argv));
  } catch (const std::bad_alloc&) {
    std::cerr << "foundling: error: out of memory\n";
  } catch (const std::exception& bug) {
    std::cerr << "foundling: a bug in Foundling itself: " << bug.what() << '\n';
  }
  return foundling::exit_trouble;
}
