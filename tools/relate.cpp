#include "tools/relate.h"

#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>
#include <string>

#include "decoder/analysis/survey.h"
#include "decoder/decode/own_session.h"
#include "decoder/draft/draft_map.h"
#include "decoder/draft/draft_relations.h"
#include "decoder/draft/relation_doubts.h"
#include "decoder/relate/relate.h"
#include "decoder/report/relations_report.h"
#include "decoder/transport/payloads.h"
#include "schemas/values/unit.h"
#include "tools/command_line.h"
#include "tools/map_update.h"
#include "tools/progress.h"
#include "tools/recorded_session.h"
#include "tools/signal_file.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  std::optional<std::int64_t> session;
  bool json = false;
  std::string into;  // the map to write or merge into; empty: none
  std::string map;   // the map to check; empty: none
};

int fail(const std::string& message) {
  std::cerr << "foundling relate: error: " << message << '\n';
  return exit_trouble;
}

std::string voltage_channels(const SessionData& data) {
  std::string names;
  for (const ChannelSeries& series : data.channels) {
    if (series.channel.is_state() || series.readings.empty()) continue;
    if (!unit_conversion(series.channel.unit, "V")) continue;
    names += (names.empty() ? "" : ", ") + series.channel.name;
  }
  return names;
}

// The map as it is, or an empty one.
Result<SignalMap> known_map(const std::string& path) {
  std::error_code ignored;
  if (!std::filesystem::exists(path, ignored)) return SignalMap{};
  auto file = load_signal_file(path, std::cerr);
  if (!file) return file.error();
  return file->read.map;
}

Result<void> write_map(const Wanted& wanted, const SessionData& data, const Survey& survey,
                       const relate::Relations& found) {
  const auto known = known_map(wanted.into);
  if (!known) return known.error();
  DraftSource source;
  source.board = data.session.info.board;
  source.capture = std::filesystem::path(wanted.capture).filename().string();
  source.session = data.session.id;
  source.digest = session_digest(data.messages);
  source.by_relation = true;
  source.bit_rate = data.session.info.bit_rate;
  source.data_bit_rate = data.session.info.data_bit_rate;
  const Correlation findings = draft_relations(found, *known);
  return update_map_file(wanted.into, draft_map(findings, survey, source), std::cerr);
}

int run(const Wanted& wanted) {
  auto recorded = load_recorded_session(wanted.capture, wanted.session);
  if (!recorded) return fail(recorded.error().message);
  for (const std::string& warning : recorded->warnings) {
    std::cerr << "foundling relate: note: " << warning << '\n';
  }
  if (const auto good = check_map_target(wanted.into, std::cerr); !good) {
    return fail(good.error().message);
  }
  std::optional<SignalFile> map;
  if (!wanted.map.empty()) {
    auto file = load_signal_file(wanted.map, std::cerr);
    if (!file) return fail(file.error().message);
    map = std::move(*file);
  }
  SessionData& data = recorded->data;
  data.messages = with_payloads(std::move(data.messages));
  Survey known;
  relate::Relations found;
  {
    Progress progress;
    progress.say("looking for relations in " + std::to_string(data.messages.size()) +
                 " messages ...");
    known = survey(data.messages);
    found = relate::find_relations(data.messages, known, data.channels);
  }
  RelationsSource source{std::filesystem::path(wanted.capture).filename().string(),
                         data.session.id,
                         voltage_channels(data),
                         "",
                         {}};
  if (map) {
    source.map = std::filesystem::path(wanted.map).filename().string();
    source.doubts = relation_doubts(found, map->read.map);
  }
  std::cout << (wanted.json ? relations_json(found, source)
                            : relations_text(found, source, text_width(STDOUT_FILENO)))
            << std::flush;
  const auto strong = [](const auto& one) { return one.strong; };
  if (!wanted.into.empty() && (found.scale || std::ranges::any_of(found.thresholds, strong))) {
    const auto written = write_map(wanted, data, known, found);
    if (!written) return fail(written.error().message);
  } else if (!wanted.into.empty()) {
    std::cerr << "foundling relate: " << wanted.into
              << " was not written: without a scale there is nothing to decode\n";
  }
  if (map && !source.doubts.doubts.empty()) return exit_findings;
  const bool any =
      std::ranges::any_of(found.sums, strong) || std::ranges::any_of(found.extremes, strong) ||
      std::ranges::any_of(found.pairs, strong) || std::ranges::any_of(found.gated, strong) ||
      std::ranges::any_of(found.thresholds, strong);
  return any ? exit_good : exit_findings;
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("CAPTURE", wanted->capture, "The capture to look at").required();
  app.add_option("--session", wanted->session, "Which session; default the last one with frames")
      .type_name("N");
  app.add_flag("--json", wanted->json, "Print JSON instead of text");
  app.add_option("--into", wanted->into,
                 "Write the sum's members into this signal map, or merge them into it, which needs "
                 "readings of the whole; and bits that tell a limit, which does not")
      .type_name("MAP");
  app.add_option("--map", wanted->map,
                 "Check this signal map by the strongest sum: which member is off")
      .type_name("MAP");
  app.footer(
      "For a pack whose cells cannot be driven one by one: finds groups of alike fields whose sum "
      "goes\n"
      "with another field, as cells and the pack's voltage do; copies, products, a voltage that "
      "equals\n"
      "the pack's while a bit is set, a bit that is set while a field is beyond a code. That needs "
      "no readings, but cells "
      "that\n"
      "move, and not all alike. With five readings of the pack's voltage every cell has its scale; "
      "what\n"
      "is written into a map is marked `by relation`, weaker than by a stimulus. Exit status 1 "
      "means\n"
      "that nothing strong was found, or that the map is contradicted. What is found is unverified "
      "until it has been checked "
      "against a\n"
      "second session. Its advice sends you to the bench:\n"
      "A traction pack can kill and burn: bench work is for licensed or trained people, under the\n"
      "codes of the place, with current-limited supplies and the high-voltage path open.\n"
      "\n"
      "Example: whether the invented board's fields say how they belong together\n"
      "  foundling relate captures_demo/tractor-1.capture");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command relate_command() {
  return {"relate", "Find fields that must go together: cells and the pack's voltage", declare};
}

}  // namespace foundling
