#include "tools/survey.h"

#include <CLI/CLI.hpp>
#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>
#include <string>

#include "decoder/analysis/survey.h"
#include "decoder/report/survey_report.h"
#include "tools/recorded_session.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  std::optional<std::int64_t> session;
  bool json = false;
};

int run(const Wanted& wanted) {
  const auto recorded = load_recorded_session(wanted.capture, wanted.session);
  if (!recorded) {
    std::cerr << "foundling survey: error: " << recorded.error().message << '\n';
    return exit_trouble;
  }
  for (const std::string& warning : recorded->warnings) {
    std::cerr << "foundling survey: note: " << warning << '\n';
  }
  const SessionRow& session = recorded->data.session;
  const SurveySource source{std::filesystem::path(wanted.capture).filename().string(), session.id,
                            session.info.bit_rate, duration_s(session)};
  const Survey found = survey(recorded->data.messages);
  std::cout << (wanted.json ? survey_json(found, source) : survey_text(found, source));
  return exit_good;
}

std::function<int()> declare(CLI::App& app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("capture", wanted->capture, "The capture to look at")->required();
  app.add_option("--session", wanted->session, "Which session; default the last one with frames")
      ->type_name("N");
  app.add_flag("--json", wanted->json, "Print JSON instead of a table");
  app.footer(
      "Needs no stimulus: periods, constants, counters, checksums, page selectors.\n"
      "\n"
      "Example: what the invented board of the demo sends\n"
      "  foundling survey captures_demo/tractor-1.capture");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command survey_command() {
  return {"survey", "Show what is on the bus: periods, counters, checksums, page selectors",
          declare};
}

}  // namespace foundling
