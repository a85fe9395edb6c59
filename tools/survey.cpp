#include "tools/survey.h"

#include <unistd.h>

#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>
#include <string>

#include "decoder/analysis/survey.h"
#include "decoder/report/against_report.h"
#include "decoder/report/survey_report.h"
#include "decoder/transport/payloads.h"
#include "tools/command_line.h"
#include "tools/other_recording.h"
#include "tools/recorded_session.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  std::optional<std::int64_t> session;
  std::string other;  // to hold against; empty: none
  std::optional<std::int64_t> other_session;
  bool json = false;
};

// A recorded session with what was found in it.
struct Surveyed {
  SessionData data;
  SurveySource source;
  Survey found;
  Talk talk;
};

// Says on stderr what is wrong or worth knowing. `as_frames`: without the payloads that frames
// carry.
std::optional<Surveyed> look_at(const std::string& capture, std::optional<std::int64_t> wanted,
                                bool as_frames) {
  auto recorded = load_recorded_session(capture, wanted);
  if (!recorded) {
    std::cerr << "foundling survey: error: " << recorded.error().message << '\n';
    return std::nullopt;
  }
  for (const std::string& warning : recorded->warnings) {
    std::cerr << "foundling survey: note: " << warning << '\n';
  }
  const SessionRow& session = recorded->data.session;
  SurveySource source{std::filesystem::path(capture).filename().string(), session.id,
                      session.info.bit_rate, duration_s(session)};
  if (!as_frames) {
    recorded->data.messages = with_payloads(std::move(recorded->data.messages));
  }
  Survey found = survey(recorded->data.messages);
  Talk talk = talk_of(recorded->data.messages);
  return Surveyed{std::move(recorded->data), std::move(source), std::move(found), std::move(talk)};
}

int hold_against(const Wanted& wanted, const Surveyed& a) {
  const auto other =
      compare_with({wanted.capture, a.data, a.found}, wanted.other, wanted.other_session);
  if (!other) {
    std::cerr << "foundling survey: error: " << other.error().message << '\n';
    return exit_trouble;
  }
  for (const std::string& warning : other->warnings) {
    std::cerr << "foundling survey: note: " << warning << '\n';
  }
  const AgainstSource source{a.source, other->source};
  std::cout << (wanted.json ? against_json(other->result, source)
                            : against_text(other->result, source, text_width(STDOUT_FILENO)));
  return other->result.differences.empty() ? exit_good : exit_findings;
}

int run(const Wanted& wanted) {
  if (wanted.other.empty() && wanted.other_session) {
    std::cerr << "foundling survey: error: --against-session needs --against, the capture that has "
                 "the session\n";
    return exit_trouble;
  }
  const auto surveyed = look_at(wanted.capture, wanted.session, !wanted.other.empty());
  if (!surveyed) return exit_trouble;
  if (!wanted.other.empty()) return hold_against(wanted, *surveyed);
  std::cout << (wanted.json ? survey_json(surveyed->found, surveyed->source, surveyed->talk)
                            : survey_text(surveyed->found, surveyed->source, surveyed->talk,
                                          text_width(STDOUT_FILENO)));
  return exit_good;
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("CAPTURE", wanted->capture, "The capture to look at").required();
  app.add_option("--session", wanted->session, "Which session; default the last one with frames")
      .type_name("N");
  app.add_option("--against", wanted->other,
                 "Another capture, or the same one: say what differs in it from the first")
      .type_name("CAPTURE");
  app.add_option("--against-session", wanted->other_session,
                 "Which session of that one; default the last one with frames")
      .type_name("N");
  app.add_flag("--json", wanted->json, "Print JSON instead of a table");
  app.footer(
      "Needs no stimulus: periods, constants, counters, checksums, page selectors, payloads that "
      "come\n"
      "in segments, and who asks whom for them.\n"
      "With --against it says what differs between two recordings (the board alone and in the\n"
      "vehicle, yesterday and today): messages, periods, lengths, pages, constants, resting "
      "values,\n"
      "resets. Noise, drift and lost frames are no difference. The exit status is then 1 where\n"
      "anything differs.\n"
      "\n"
      "Example: what the invented board of the demo sends\n"
      "  foundling survey captures_demo/tractor-1.capture\n"
      "Example: what is different in its second session\n"
      "  foundling survey captures_demo/tractor-1.capture --against "
      "captures_demo/tractor-2.capture");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command survey_command() {
  return {"survey", "Show what is on the bus: periods, counters, checksums, page selectors",
          declare};
}

}  // namespace foundling
