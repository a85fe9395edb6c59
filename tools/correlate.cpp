#include "tools/correlate.h"

#include <unistd.h>

#include <CLI/CLI.hpp>
#include <chrono>
#include <iostream>
#include <memory>
#include <optional>
#include <string>

#include "decoder/analysis/correlate.h"
#include "decoder/report/proposals_report.h"
#include "tools/recorded_session.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  std::optional<std::int64_t> session;
  bool json = false;
  CorrelateOptions options;
};

int fail(const std::string& message) {
  std::cerr << "foundling correlate: error: " << message << '\n';
  return exit_trouble;
}

// One line that is replaced as the work goes on; nothing where nobody watches.
class Progress {
 public:
  void say(const std::string& text) const {
    if (watched_) std::cerr << "\r\x1b[K" << text << std::flush;
  }
  void done() const {
    if (watched_) std::cerr << "\r\x1b[K" << std::flush;
  }

 private:
  bool watched_ = isatty(STDERR_FILENO) == 1;
};

Correlation analyse(const SessionData& data, const Wanted& wanted) {
  const Progress progress;
  const auto start = std::chrono::steady_clock::now();
  progress.say("surveying " + std::to_string(data.messages.size()) + " messages ...");
  const Survey found = survey(data.messages);
  progress.say("trying every field against " + std::to_string(data.channels.size()) +
               " channels ...");
  Correlation correlation = correlate(data.messages, data.channels, found, wanted.options);
  progress.done();
  const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start;
  correlation.seconds = taken.count();
  return correlation;
}

int run(const Wanted& wanted) {
  const auto recorded = load_recorded_session(wanted.capture, wanted.session);
  if (!recorded) return fail(recorded.error().message);
  for (const std::string& warning : recorded->warnings) {
    std::cerr << "foundling correlate: note: " << warning << '\n';
  }
  if (recorded->data.channels.empty()) {
    return fail(wanted.capture + ": session " + std::to_string(recorded->data.session.id) +
                " has no readings; write down what was applied with `foundling stimulus`, or give "
                "`foundling import` a stimulus file");
  }
  const Correlation correlation = analyse(recorded->data, wanted);
  std::cout << (wanted.json ? proposals_json(correlation) : proposals_text(correlation));
  return correlation.proposals.empty() ? exit_findings : exit_good;
}

std::function<int()> declare(CLI::App& app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("capture", wanted->capture, "The capture to search, with readings in it")
      ->required();
  app.add_option("--session", wanted->session, "Which session; default the last one with frames")
      ->type_name("N");
  app.add_flag("--json", wanted->json, "Print JSON instead of a table");
  app.add_option("--seed", wanted->options.seed,
                 "Seed of the draws behind the chance figure; default 1")
      ->type_name("N");
  app.footer(
      "Exit status 1 means that no signal was found. What is found is unverified until it has "
      "been\n"
      "checked against a second session.\n"
      "\n"
      "Example: find the signals of the invented board\n"
      "  foundling correlate captures_demo/tractor-1.capture");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command correlate_command() {
  return {"correlate", "Find the fields that answer to the readings, with scale, offset and doubt",
          declare};
}

}  // namespace foundling
