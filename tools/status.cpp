#include "tools/status.h"

#include <unistd.h>

#include <iostream>
#include <memory>
#include <string>

#include "tools/command_line.h"
#include "tools/status/recorder_status.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  StatusLimits limits;
  bool json = false;
  bool quiet = false;
};

int run(const Wanted& wanted) {
  const auto status = recorder_status(wanted.capture);
  if (!status) {
    std::cerr << "foundling status: error: " << status.error().message << '\n';
    return exit_trouble;
  }
  const auto found = troubles(*status, wanted.limits);
  if (!wanted.quiet) {
    std::cout << (wanted.json ? status_json(*status, found)
                              : status_text(*status, found, text_width(STDOUT_FILENO)));
  }
  return found.empty() ? exit_good : exit_findings;
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("CAPTURE", wanted->capture, "The capture that is being recorded").required();
  app.add_flag("--json", wanted->json, "JSON instead of lines");
  app.add_flag("--quiet", wanted->quiet, "Print nothing; the exit status tells");
  app.add_option("--silent-after", wanted->limits.silent_after_s,
                 "No frame for so many seconds is a finding")
      .type_name("S")
      .check(number_between(0, any_size))
      .capture_default_str();
  app.add_option("--losses-within", wanted->limits.losses_within_s,
                 "Losses in the last so many seconds are a finding; older ones are only shown")
      .type_name("S")
      .check(number_between(0, any_size))
      .capture_default_str();
  app.add_option("--hours-left", wanted->limits.least_hours_left,
                 "Room on the disk for less than so many hours is a finding")
      .type_name("H")
      .check(number_between(0, any_size))
      .capture_default_str();
  app.footer(
      "Exit status: 0 recording, and nothing to look at; 1 something to look at, or nobody "
      "records;\n"
      "2 the capture cannot be read.\n"
      "\n"
      "Example: a line in a watch script\n"
      "  foundling status pack.capture --quiet --silent-after 60 || echo look at the recorder");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command status_command() {
  return {"status",
          "How a recording is doing: rate, load, losses, disk; an exit status for scripts",
          declare};
}

}  // namespace foundling
