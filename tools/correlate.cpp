#include "tools/correlate.h"

#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>
#include <string>

#include "decoder/decode/own_session.h"
#include "decoder/draft/draft_map.h"
#include "decoder/report/proposals_report.h"
#include "decoder/transport/payloads.h"
#include "tools/command_line.h"
#include "tools/map_update.h"
#include "tools/progress.h"
#include "tools/recorded_session.h"
#include "tools/session_search.h"
#include "tools/signal_file.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  std::optional<std::int64_t> session;
  bool json = false;
  std::string into;  // the map to write or merge into; empty: none
  std::string plan;  // that the session followed; empty: not known
  std::uint64_t seed = 1;
};

int fail(const std::string& message) {
  std::cerr << "foundling correlate: error: " << message << '\n';
  return exit_trouble;
}

struct Analysed {
  Survey survey;
  Correlation correlation;
};

Analysed analyse(const SessionData& data, const SearchOrder& order, const SessionPlan& plan) {
  const auto start = std::chrono::steady_clock::now();
  Analysed out;
  {
    Progress progress;
    progress.say("surveying " + std::to_string(data.messages.size()) + " messages ...");
    out.survey = survey(data.messages);
  }
  out.correlation = search_session(order, data, out.survey, plan);
  const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start;
  out.correlation.seconds = taken.count();
  return out;
}

// The map names the capture as a person would: without the folders of this machine.
Result<void> write_map(const SessionData& data, const Analysed& found, const Wanted& wanted) {
  DraftSource source;
  source.board = data.session.info.board;
  source.capture = std::filesystem::path(wanted.capture).filename().string();
  source.session = data.session.id;
  source.digest = session_digest(data.messages);
  source.bit_rate = data.session.info.bit_rate;
  source.data_bit_rate = data.session.info.data_bit_rate;
  return update_map_file(wanted.into, draft_map(found.correlation, found.survey, source),
                         std::cerr);
}

int run(const Wanted& wanted) {
  auto recorded = load_recorded_session(wanted.capture, wanted.session);
  if (!recorded) return fail(recorded.error().message);
  for (const std::string& warning : recorded->warnings) {
    std::cerr << "foundling correlate: note: " << warning << '\n';
  }
  if (recorded->data.channels.empty()) {
    return fail(wanted.capture + ": session " + std::to_string(recorded->data.session.id) +
                " has no readings; write down what was applied with `foundling stimulus`, or give "
                "`foundling import` a stimulus file");
  }
  if (const auto good = check_map_target(wanted.into, std::cerr); !good) {
    return fail(good.error().message);
  }
  const SearchOrder order{"correlate", wanted.capture, wanted.plan, wanted.seed};
  const auto plan = plan_of_session(order, recorded->data);
  if (!plan) return fail(plan.error().message);
  recorded->data.messages = with_payloads(std::move(recorded->data.messages));
  const Analysed found = analyse(recorded->data, order, *plan);
  const Correlation& correlation = found.correlation;
  std::cout << (wanted.json
                    ? proposals_json(correlation, wanted.capture)
                    : proposals_text(correlation, wanted.capture, text_width(STDOUT_FILENO)))
            << std::flush;
  if (!wanted.into.empty()) {
    const auto written = write_map(recorded->data, found, wanted);
    if (!written) return fail(written.error().message);
  }
  return correlation.proposals.empty() ? exit_findings : exit_good;
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("CAPTURE", wanted->capture, "The capture to search, with readings in it")
      .required();
  app.add_option("--session", wanted->session, "Which session; default the last one with frames")
      .type_name("N");
  app.add_flag("--json", wanted->json,
               "Print JSON instead of a table; `foundling report --proposals` draws it");
  app.add_option("--into", wanted->into,
                 "Write the findings into this signal map; one that is there is merged with, and "
                 "what a person confirmed or wrote stays")
      .type_name("MAP");
  app.add_option(
         "--plan", wanted->plan,
         "The bench plan that the session followed, where `bench run` did not leave it in the "
         "capture: the chance figure then comes from drawing it again with other seeds")
      .type_name("PLAN");
  app.add_option("--seed", wanted->seed, "Seed of the draws behind the chance figure; default 1")
      .type_name("N");
  app.footer(
      "Exit status 1 means that no signal was found. What is found is unverified until it has "
      "been\n"
      "checked against a second session. Its advice sends you to the bench:\n"
      "A traction pack can kill and burn: bench work is for licensed or trained people, under the\n"
      "codes of the place, with current-limited supplies and the high-voltage path open.\n"
      "\n"
      "Example: find the signals of the invented board\n"
      "  foundling correlate captures_demo/tractor-1.capture --into my-tractor.signals");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command correlate_command() {
  return {"correlate", "Find the fields that respond to the readings, with scale, offset and doubt",
          declare};
}

}  // namespace foundling
