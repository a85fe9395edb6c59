// `foundling stimulus`: what was applied on the bench, written into a capture while it is recorded.
#include "tools/stimulus.h"

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "tools/exchange/report_error.h"
#include "tools/stimulus_verbs.h"

namespace foundling {
namespace {

int complain(const std::string& message) {
  return report_error("stimulus", {ErrorCode::usage, message});
}

struct Typed {
  std::vector<std::string> words;
  std::optional<double> uncertainty;
  std::string kind;
  StimulusOrder order;
};

int run(Typed& typed) {
  auto& words = typed.words;
  // The verb may come before the capture: both read naturally.
  if (words.size() > 1 && is_stimulus_verb(words[0]) && !is_stimulus_verb(words[1])) {
    std::swap(words[0], words[1]);
  }
  if (words.size() < 2) return complain("expected a capture and one of set, list, import, correct");
  StimulusOrder& order = typed.order;
  order.capture = words[0];
  order.uncertainty = typed.uncertainty;
  if (typed.kind == "hold") order.kind = ChannelKind::hold;
  if (typed.kind == "sample") order.kind = ChannelKind::sample;
  const std::vector<std::string> rest(words.begin() + 2, words.end());
  const auto status = run_stimulus_verb(words[1], rest, order);
  if (!status) return report_error("stimulus", status.error());
  return exit_good;
}

void declare_options(CLI::App& app, Typed& typed) {
  app.add_option("words", typed.words, "The capture, what to do, and on what: see below")
      ->type_name("CAPTURE VERB")
      ->required();
  app.add_option("--uncertainty", typed.uncertainty,
                 "How well the value is known: standard uncertainty, in the unit of the value")
      ->type_name("U");
  app.add_option("--kind", typed.kind,
                 "hold: true until the next reading (the default); sample: a moment of a moving "
                 "quantity")
      ->type_name("KIND")
      ->check(CLI::IsMember({"hold", "sample"}));
  app.add_option("--at", typed.order.at,
                 "When it was applied, in seconds since the session's start; else now")
      ->type_name("SECONDS");
  app.add_option("--offset", typed.order.offset,
                 "import: added to every time of the file, where its clock differs")
      ->type_name("SECONDS");
  app.add_option("--session", typed.order.session, "Which session; else the last one")
      ->type_name("N");
  app.add_flag("--withdraw", typed.order.withdraw, "correct: the reading never was");
  app.add_flag("--all", typed.order.all, "list: superseded readings too");
  app.add_flag("--json", typed.order.json, "list: as JSON");
}

std::function<int()> declare(CLI::App& app) {
  auto typed = std::make_shared<Typed>();
  declare_options(app, *typed);
  app.footer(
      "What can be done:\n"
      "  CAPTURE set CHANNEL VALUE [UNIT]     applied now: 12.5A, 12.5 A, closed\n"
      "  CAPTURE correct NUMBER VALUE [UNIT]  reading NUMBER was wrong; the old one is kept\n"
      "  CAPTURE list                         the readings with their numbers\n"
      "  CAPTURE import FILE.csv              from time_s,channel,unit,value, on the session's "
      "clock\n"
      "\n"
      "Example: the supply now drives 12.5 A, known to 20 mA\n"
      "  foundling stimulus bench.capture set pack_current 12.5A --uncertainty 0.02");
  return [typed] { return run(*typed); };
}

}  // namespace

Command stimulus_command() {
  return {"stimulus", "Write what is applied on the bench into a running capture; list; correct",
          declare};
}

}  // namespace foundling
