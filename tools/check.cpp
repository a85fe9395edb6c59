// `foundling check`: a signal map held against a session that it was not made from.
#include "tools/check.h"

#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "decoder/decode/check.h"
#include "decoder/decode/own_session.h"
#include "schemas/capture/capture_reader.h"
#include "tools/check_text.h"
#include "tools/command_line.h"
#include "tools/exchange/far_readings.h"
#include "tools/map_update.h"
#include "tools/name_pattern.h"
#include "tools/signal_file.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

struct Wanted {
  std::string first;
  std::string second;
  std::optional<std::int64_t> session;
  std::vector<std::string> tolerances;
  bool json = false;
  std::string into;  // the map for what was borne out; empty: none
};

struct NamedTolerance {
  std::string pattern;
  double value = 0;
};

int fail(const Error& error) {
  std::cerr << "foundling check: error: " << error.message << '\n';
  return exit_trouble;
}

std::optional<double> positive_number(std::string_view text) {
  double value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, failure] = std::from_chars(text.data(), end, value);
  if (text.empty() || failure != std::errc{} || stop != end || !(value >= 0) || value > 1e30) {
    return {};
  }
  return value;
}

// "1%" of the range that was driven; "cell_*=0.01" sets an absolute one.
Result<CheckOptions> options_of(const std::vector<std::string>& texts) {
  CheckOptions options;
  std::vector<NamedTolerance> named;
  for (const std::string& text : texts) {
    const auto equals = text.rfind('=');
    const std::string_view whole(text);
    if (equals != std::string::npos && equals > 0) {
      const auto value = positive_number(whole.substr(equals + 1));
      if (value) {
        named.push_back({text.substr(0, equals), *value});
        continue;
      }
    } else if (whole.ends_with('%')) {
      const auto percent = positive_number(whole.substr(0, whole.size() - 1));
      if (percent) {
        options.share = *percent / 100;
        options.share_is_set = true;
        continue;
      }
    }
    return Error{ErrorCode::usage,
                 "--tolerance takes a percentage of the range that was driven, "
                 "such as 1%, or a signal and a figure in its unit, such as "
                 "pack_current=0.5, not '" +
                     text + '\''};
  }
  options.absolute = [named](const std::string& signal) -> std::optional<double> {
    for (auto it = named.rbegin(); it != named.rend(); ++it) {  // the last one said wins
      if (matches(it->pattern, signal)) return it->value;
    }
    return {};
  };
  return options;
}

// A tolerance for a signal that is not checked would be a limit silently lost.
Result<void> every_name_is_checked(const Wanted& wanted, const MapCheck& check) {
  for (const std::string& text : wanted.tolerances) {
    const auto equals = text.rfind('=');
    if (equals == std::string::npos) continue;
    const std::string pattern = text.substr(0, equals);
    const bool used = std::ranges::any_of(
        check.signals, [&](const SignalCheck& signal) { return matches(pattern, signal.signal); });
    if (used) continue;
    return Error{ErrorCode::usage,
                 "--tolerance " + text + ": no signal that is checked has such a name"};
  }
  return {};
}

Result<void> write_borne_out(const CheckedSession& checked) {
  if (checked.into.empty()) return {};
  if (checked.borne_out.signals.empty()) {
    std::cerr << checked.into
              << ": nothing to write, since no signal that is by relation alone "
                 "was borne out\n";
    return {};
  }
  return update_map_file(checked.into, checked.borne_out.findings, std::cerr);
}

int run(const Wanted& wanted) {
  const auto options = options_of(wanted.tolerances);
  if (!options) return fail(options.error());
  const auto files = tell_apart(wanted.first, wanted.second);
  if (!files) return fail(files.error());
  const auto map = load_signal_file(files->map, std::cerr);
  if (!map) return fail(map.error());
  if (const auto good = check_map_target(wanted.into, std::cerr); !good) return fail(good.error());
  auto capture = CaptureReader::open(files->capture);
  if (!capture) return fail(capture.error());
  const auto session = capture->session(wanted.session);
  if (!session) return fail(session.error());
  auto data = capture->load(session->id);
  if (!data) return fail(data.error());
  for (const std::string& text :
       leave_out_far_readings(data->channels, {session->first_ns, session->last_ns})) {
    std::cerr << "foundling check: warning: " << text << '\n';
  }

  const MapCheck check = check_map(map->read.map, data->messages, data->channels, *options);
  if (const auto named = every_name_is_checked(wanted, check); !named) return fail(named.error());
  CheckedSession checked{files->capture, session->id, false};
  const SessionIdentity identity{std::filesystem::path(files->capture).filename().string(),
                                 session->id, session_digest(data->messages)};
  checked.own = made_from(map->read.map, identity);
  checked.borne_out = borne_out(map->read.map, check, identity);
  checked.into = wanted.into;
  if (checked.own) std::cerr << "foundling check: warning: " << own_session_words << '\n';
  std::cout << (wanted.json ? check_as_json(check, checked)
                            : check_as_text(check, checked, text_width(STDOUT_FILENO)));
  if (const auto written = write_borne_out(checked); !written) return fail(written.error());
  if (check.signals.empty()) {
    std::cerr << "foundling check: session " << session->id << " of " << files->capture
              << " has no channel that the map has a signal for: nothing was checked\n";
    return exit_findings;
  }
  return std::ranges::all_of(check.signals, &SignalCheck::pass) ? exit_good : exit_findings;
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("MAP", wanted->first, "A signal map").required();
  app.add_option("CAPTURE", wanted->second,
                 "A capture with readings, not the one the map was made from; in either order")
      .required();
  app.add_option("--session", wanted->session,
                 "Which session; the last one with frames if not said")
      .type_name("N");
  app.add_flag("--json", wanted->json, "JSON instead of a table");
  app.add_option("--into", wanted->into,
                 "Write into this map, usually the same, which signals that it had by relation "
                 "alone these readings bear out")
      .type_name("MAP");
  app.add_option("--tolerance", wanted->tolerances,
                 "P%: of the range that was driven, instead of 0.5%; NAME=VALUE: the largest error "
                 "of that signal, in its unit; may be given several times. With either the gain "
                 "is not judged by itself")
      .type_name("P%|NAME=VALUE")
      .one_value_each();
  app.footer(
      "A signal passes when its largest error (of a moving channel 95 % of its errors) is within\n"
      "0.5 % of the range that was driven, plus two steps of its raw value, plus twice the\n"
      "readings' standard uncertainty, and never more than 5 % of that range, and when its gain "
      "is\n"
      "within 0.95 to 1.05. Where the levels are too few or too close together it was not tested,\n"
      "which is no pass. Of a held channel one reading in ten may be off by more: it is named, "
      "and\n"
      "nothing is corrected. Exit status 1 when one fails or was not tested.\n"
      "\n"
      "What `foundling relate` found is marked by relation in the map, weaker than by a stimulus.\n"
      "Where the readings of another session bear it out it is named, and --into writes it down;\n"
      "`status confirmed` stays yours to write.\n"
      "\n"
      "Example: check a map against a second session\n"
      "  foundling check captures_demo/tractor.signals captures_demo/tractor-2.capture \\\n"
      "    --tolerance 'cell_*=0.01'\n"
      "Example: what a relation gave, borne out by readings of single cells\n"
      "  foundling check my-tractor.signals captures_demo/tractor-2.capture --into "
      "my-tractor.signals");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command check_command() {
  return {"check", "Check a signal map against a session that it was not made from", declare};
}

}  // namespace foundling
