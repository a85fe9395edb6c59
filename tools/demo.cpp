// `foundling demo`: the simulated board's bench session, into a capture, into CSV, or onto a bus.
#include "tools/demo.h"

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <optional>
#include <string>

#include "tools/board/session.h"
#include "tools/demo_files.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  std::string csv_folder;
  int session = 1;
  bool small = false;
};

int fail(const Error& error) {
  std::cerr << "foundling demo: error: " << error.message << '\n';
  return exit_trouble;
}

int write_csv(const Wanted& wanted, const board::BenchSession& session) {
  const auto written = write_session_csv(wanted.csv_folder, wanted.session, session);
  if (!written) return fail(written.error());
  std::cerr << session.frames.size() << " frames in " << written->frames.string() << '\n'
            << "readings in " << written->stimulus.string() << '\n';
  return exit_good;
}

int run(const Wanted& wanted) {
  const auto session = board::run_session(board::session_options(wanted.session, wanted.small));
  return write_csv(wanted, session);
}

std::function<int()> declare(CLI::App& app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("--csv", wanted->csv_folder,
                 "Write the session as two CSV files into this folder, as `foundling import` takes "
                 "them")
      ->type_name("FOLDER")
      ->required();
  app.add_option("--session", wanted->session,
                 "Which session: the same board, another order of levels")
      ->type_name("N")
      ->check(CLI::Range(1, 1'000'000))
      ->capture_default_str();
  app.add_flag("--small", wanted->small, "A short session of a slow board, some thousand frames");
  app.footer(
      "Example: a session as CSV files\n"
      "  foundling demo --csv bench --session 1");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command demo_command() {
  return {"demo", "Play an invented board's bench session into a capture or onto a CAN interface",
          declare};
}

}  // namespace foundling
