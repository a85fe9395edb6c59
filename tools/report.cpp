#include "tools/report.h"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include "decoder/decode/own_session.h"
#include "decoder/draft/draft_map.h"
#include "decoder/report/page/page_html.h"
#include "decoder/report/page/page_json.h"
#include "decoder/report/proposals_fit.h"
#include "decoder/report/proposals_report.h"
#include "decoder/transport/payloads.h"
#include "schemas/signals/field.h"
#include "tools/command_line.h"
#include "tools/files/target.h"
#include "tools/other_recording.h"
#include "tools/progress.h"
#include "tools/recorded_session.h"
#include "tools/report_session.h"
#include "tools/session_search.h"
#include "tools/signal_file.h"
#include "tools/text_file.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  std::string out;
  std::optional<std::int64_t> session;
  std::string map;
  std::string check;
  std::optional<std::int64_t> check_session;
  std::string other;  // to compare with; empty: none
  std::optional<std::int64_t> other_session;
  std::string title;
  std::string proposals;
  bool search = false;
};

int fail(const std::string& message) {
  std::cerr << "foundling report: error: " << message << '\n';
  return exit_trouble;
}

// Only a page is ever written over: a capture named in the wrong place is nobody's output.
Result<void> check_target(const std::string& path) {
  std::error_code ignored;
  if (std::filesystem::is_regular_file(path, ignored) &&
      std::filesystem::file_size(path, ignored) > 0) {
    std::ifstream file(path, std::ios::binary);
    std::string start(9, '\0');
    file.read(start.data(), 9);
    std::ranges::transform(start, start.begin(),
                           [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    if (start != "<!doctype") {
      return Error{ErrorCode::exists, path + ": is there and is no HTML page, so it stays"};
    }
  }
  return check_replaceable(path);
}

SignalMap draft_of(const ReportSession& session, const Survey& found,
                   const Correlation& correlation) {
  DraftSource source;
  source.board = session.source.board;
  source.capture = session.source.capture;
  source.session = session.source.session;
  source.digest = session_digest(session.data.messages);
  source.bit_rate = session.data.session.info.bit_rate;
  source.data_bit_rate = session.data.session.info.data_bit_rate;
  return draft_map(correlation, found, source);
}

Result<PageCheck> check_against(const Wanted& wanted, const SignalMap& map) {
  const auto other = load_recorded_session(wanted.check, wanted.check_session);
  if (!other) return other.error();
  if (other->data.channels.empty()) {
    return Error{ErrorCode::not_found,
                 wanted.check + ": session " + std::to_string(other->data.session.id) +
                     " has no readings, so nothing can be checked against it"};
  }
  PageCheck out;
  out.capture = std::filesystem::path(wanted.check).filename().string();
  out.session = other->data.session.id;
  out.same_session =
      made_from(map, {out.capture, out.session, session_digest(other->data.messages)});
  out.check = check_map(map, other->data.messages, other->data.channels);
  return out;
}

Result<PageAgainst> compare(const Wanted& wanted, const SessionData& data, const Survey& found) {
  auto other = compare_with({wanted.capture, data, found}, wanted.other, wanted.other_session);
  if (!other) return other.error();
  for (const std::string& warning : other->warnings) {
    std::cerr << "foundling report: note: " << wanted.other << ": " << warning << '\n';
  }
  return PageAgainst{other->source.capture, other->source.session, other->source.bit_rate,
                     other->source.duration_s, std::move(other->result)};
}

std::string title_of(const Wanted& wanted, const PageSource& source) {
  if (!wanted.title.empty()) return wanted.title;
  return source.pack.empty() ? source.capture : source.pack;
}

// Where the signals come from: a search now, one that `correlate` made, or neither.
Result<std::optional<Correlation>> proposals_for(const Wanted& wanted,
                                                 std::optional<Correlation> read,
                                                 const ReportSession& session,
                                                 const Survey& found) {
  const SessionData& data = session.data;
  if (read) {
    const auto fit = check_proposals_fit(*read, session.searched(), data.messages, data.channels,
                                         wanted.proposals);
    if (!fit) return fit.error();
    const std::string other = other_session(*read, session.searched());
    if (!other.empty()) std::cerr << "foundling report: note: " << other << '\n';
    return read;
  }
  if (!wanted.search || data.channels.empty()) return std::optional<Correlation>{};
  const SearchOrder order{"report", wanted.capture};
  const auto plan = plan_of_session(order, data);
  if (!plan) return plan.error();
  return std::optional(search_session(order, data, found, *plan));
}

// The page says it too (notSearchedNote).
void say_not_searched(const Wanted& wanted, const SessionData& data) {
  const std::string session =
      data.session.id == 1 ? "" : " --session " + std::to_string(data.session.id);
  std::cerr << "foundling report: note: no signals were searched for, so the page has "
            << (wanted.map.empty() ? "none" : "no intervals, no chances and no advice")
            << ". `foundling correlate " << wanted.capture << session
            << " --json > proposals.json` searches, and `--proposals proposals.json` draws it; "
               "--search does both at once\n";
}

int write_page(const Wanted& wanted, const PageInput& input) {
  const std::string page = page_html(built_in_parts(), input.title, page_json(input));
  const auto written = replace_text_file(wanted.out, page);
  if (!written) return fail(written.error().message);
  std::cout << wanted.out << ": " << (page.size() + 1023) / 1024 << " KiB, "
            << input.survey->messages.size() << " messages, " << fields_of(*input.map).size()
            << " signals";
  if (input.against)
    std::cout << ", " << input.against->result.differences.size() << " differences";
  std::cout << '\n';
  const bool failed = input.check && std::ranges::any_of(input.check->check.signals,
                                                         [](const auto& s) { return !s.pass; });
  return failed ? exit_findings : exit_good;
}

struct FilesRead {  // before the capture, which takes longer
  std::optional<SignalFile> map;
  std::optional<Correlation> proposals;
};

Result<FilesRead> read_files(const Wanted& wanted) {
  FilesRead files;
  if (!wanted.map.empty()) {
    auto map = load_signal_file(wanted.map, std::cerr);
    if (!map) return map.error();
    files.map = std::move(*map);
  }
  if (!wanted.proposals.empty()) {
    const auto text = read_text_file(wanted.proposals);
    if (!text) return text.error();
    auto proposals = proposals_from_json(*text, wanted.proposals);
    if (!proposals) return proposals.error();
    files.proposals = std::move(*proposals);
  }
  if (const auto good = check_target(wanted.out); !good) return good.error();
  return files;
}

PageInput input_of(const Wanted& wanted, const ReportSession& session) {
  PageInput input;
  input.title = title_of(wanted, session.source);
  input.source = session.source;
  input.messages = session.data.messages;
  input.channels = session.data.channels;
  input.map_name = std::filesystem::path(wanted.map).filename().string();
  input.lost = session.lost;
  input.incidents = session.incidents;
  return input;
}

int run(const Wanted& wanted) {
  if (!page_is_built_in()) {
    return fail(
        "this program was built without the report page (FOUNDLING_REPORT=OFF, for want "
        "of npm)");
  }
  auto files = read_files(wanted);
  if (!files) return fail(files.error().message);
  Progress progress;
  progress.say("reading " + wanted.capture + " ...");
  auto session = load_report_session(wanted.capture, wanted.session);
  if (!session) return fail(session.error().message);
  progress.done();
  for (const std::string& text : session->left_out) {
    std::cerr << "foundling report: warning: " << text << '\n';
  }
  progress.say("surveying ...");
  session->data.messages = with_payloads(std::move(session->data.messages));
  const Survey found = survey(session->data.messages);
  progress.done();
  const auto proposals = proposals_for(wanted, std::move(files->proposals), *session, found);
  if (!proposals) return fail(proposals.error().message);
  const std::optional<Correlation>& correlation = *proposals;
  if (!correlation && !session->data.channels.empty()) say_not_searched(wanted, session->data);
  const SignalMap map = files->map ? std::move(files->map->read.map)
                                   : draft_of(*session, found, correlation.value_or(Correlation{}));
  PageInput input = input_of(wanted, *session);
  input.survey = &found;
  input.map = &map;
  input.correlation = correlation ? &*correlation : nullptr;
  if (!wanted.other.empty()) {
    progress.say("comparing with " + wanted.other + " ...");
    auto other = compare(wanted, session->data, found);
    if (!other) return progress.done(), fail(other.error().message);
    input.against = std::move(*other);
  }
  if (!wanted.check.empty()) {
    progress.say("checking against " + wanted.check + " ...");
    auto check = check_against(wanted, map);
    if (!check) return progress.done(), fail(check.error().message);
    input.check = std::move(*check);
  }
  progress.say("drawing ...");
  const int status = write_page(wanted, input);
  progress.done();
  return status;
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("CAPTURE", wanted->capture, "The capture to show").required();
  app.add_option("OUT", wanted->out, "The page to write, such as report.html; a page is replaced")
      .required();
  app.add_option("--session", wanted->session, "Which session; default the last one with frames")
      .type_name("N");
  app.add_option("--map", wanted->map,
                 "Show this signal map; without it one is drafted from the proposals")
      .type_name("MAP");
  auto check =
      app.add_option("--check", wanted->check,
                     "Check the map against this other capture's readings, and show the result")
          .type_name("CAPTURE");
  app.add_option("--check-session", wanted->check_session,
                 "Which session of it; default the last one with frames")
      .type_name("N")
      .needs(check);
  auto against =
      app.add_option(
             "--against", wanted->other,
             "Say what differs in this other recording, as `foundling survey --against` does")
          .type_name("CAPTURE");
  app.add_option("--against-session", wanted->other_session,
                 "Which session of it; default the last one with frames")
      .type_name("N")
      .needs(against);
  auto proposals =
      app.add_option("--proposals", wanted->proposals,
                     "Draw what `foundling correlate --json` found in this session: signals, "
                     "intervals, chances, advice")
          .type_name("JSON");
  app.add_flag("--search", wanted->search,
               "Search for signals now, as `foundling correlate` does: minutes for an hour's "
               "recording")
      .excludes(proposals);
  app.add_option("--title", wanted->title, "The page's title; default the pack's name")
      .type_name("TEXT");
  app.footer(
      "The page holds all it needs and asks no network for anything. What it shows is unverified "
      "until\n"
      "checked against a second session, and is a display, never a protection function. Exit "
      "status 1:\n"
      "the page was made, and a check on it failed.\n"
      "\n"
      "Without --proposals and --search the page has the bus, the bits and the stimuli, and the "
      "signals of\n"
      "--map, and is made within twice the time that reading the capture takes.\n"
      "\n"
      "Example: what is found in one session, checked against another\n"
      "  foundling report captures_demo/tractor-1.capture report.html --search \\\n"
      "    --check captures_demo/tractor-2.capture\n"
      "Example: with what differs in another recording\n"
      "  foundling report captures_demo/tractor-1.capture report.html \\\n"
      "    --against captures_demo/tractor-2.capture");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command report_command() {
  return {"report", "Show a session as one HTML page: bus, bits, stimuli, signals, cells, check",
          declare};
}

}  // namespace foundling
