#include "tools/report.h"

#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cctype>
#include <chrono>
#include <condition_variable>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <utility>

#include "decoder/analysis/correlate.h"
#include "decoder/draft/draft_map.h"
#include "decoder/report/page/page_html.h"
#include "decoder/report/page/page_json.h"
#include "schemas/signals/field.h"
#include "tools/recorded_session.h"
#include "tools/report_session.h"
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
  std::string title;
  bool no_search = false;
};

int fail(const std::string& message) {
  std::cerr << "foundling report: error: " << message << '\n';
  return exit_trouble;
}

// One line that is replaced as the work goes on; nothing where nobody watches.
void say(const std::string& text) {
  if (isatty(STDERR_FILENO) == 1) std::cerr << "\r\x1b[K" << text << std::flush;
}

// How long the search may take, in seconds: 0.4 µs of processor time for each frame and channel,
// measured on the report bench's hour (tests/bench/README.md), on as many cores as there are.
double search_seconds(const SessionData& data) {
  std::size_t frames = 0;
  for (const MessageSeries& message : data.messages) frames += message.size();
  const auto cores = std::max(1U, std::thread::hardware_concurrency());
  return 0.4e-6 * static_cast<double>(frames) * static_cast<double>(data.channels.size()) / cores;
}

// Said also where nobody watches: who waits, or reads a log, is to know for what.
void announce_long_search(const SessionData& data) {
  const double seconds = search_seconds(data);
  if (seconds < 15) return;
  say("");
  std::cerr << "foundling report: the search for signals may take some "
            << (seconds < 90    ? "tens of seconds"
                : seconds < 600 ? "minutes"
                                : "tens of minutes")
            << "; --no-search leaves it out, and with it the intervals and the advice\n";
}

// Says for how long it has been going on, every second.
class Ticker {
 public:
  explicit Ticker(std::string text) : text_(std::move(text)) {
    say(text_ + " ...");
    if (isatty(STDERR_FILENO) == 1) thread_ = std::thread([this] { tick(); });
  }
  Ticker(const Ticker&) = delete;
  Ticker& operator=(const Ticker&) = delete;
  ~Ticker() {
    {
      const std::lock_guard lock(mutex_);
      done_ = true;
    }
    ended_.notify_all();
    if (thread_.joinable()) thread_.join();
  }

 private:
  void tick() {
    std::unique_lock lock(mutex_);
    for (int seconds = 1; !ended_.wait_for(lock, std::chrono::seconds(1), [this] { return done_; });
         ++seconds) {
      say(text_ + " ... " + std::to_string(seconds) + " s");
    }
  }

  std::string text_;
  std::mutex mutex_;
  std::condition_variable ended_;
  bool done_ = false;
  std::thread thread_;
};

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
  source.bit_rate = session.data.session.info.bit_rate;
  source.data_bit_rate = session.data.session.info.data_bit_rate;
  return draft_map(correlation, found, source);
}

bool made_from(const SignalMap& map, const std::string& capture, std::int64_t session) {
  return std::ranges::any_of(map.messages, [&](const MessageEntry& message) {
    return std::ranges::any_of(message.signals, [&](const SignalEntry& signal) {
      return std::ranges::any_of(signal.seen, [&](const Evidence& seen) {
        return seen.source == capture && seen.session == session;
      });
    });
  });
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
  out.same_session = made_from(map, out.capture, out.session);
  out.check = check_map(map, other->data.messages, other->data.channels);
  return out;
}

std::string title_of(const Wanted& wanted, const PageSource& source) {
  if (!wanted.title.empty()) return wanted.title;
  return source.pack.empty() ? source.capture : source.pack;
}

int write_page(const Wanted& wanted, const PageInput& input) {
  const std::string page = page_html(built_in_parts(), input.title, page_json(input));
  say("");
  const auto written = replace_text_file(wanted.out, page);
  if (!written) return fail(written.error().message);
  std::cout << wanted.out << ": " << (page.size() + 1023) / 1024 << " KiB, "
            << input.survey->messages.size() << " messages, " << fields_of(*input.map).size()
            << " signals\n";
  const bool failed = input.check && std::ranges::any_of(input.check->check.signals,
                                                         [](const auto& s) { return !s.pass; });
  return failed ? exit_findings : exit_good;
}

int run(const Wanted& wanted) {
  if (!page_is_built_in()) {
    return fail(
        "this program was built without the report page (FOUNDLING_REPORT=OFF, for want "
        "of npm)");
  }
  std::optional<SignalFile> file;
  if (!wanted.map.empty()) {
    auto read = load_signal_file(wanted.map, std::cerr);
    if (!read) return fail(read.error().message);
    file = std::move(*read);
  }
  if (const auto good = check_target(wanted.out); !good) return fail(good.error().message);
  say("reading " + wanted.capture + " ...");
  auto session = load_report_session(wanted.capture, wanted.session);
  if (!session) return fail(session.error().message);
  say("surveying ...");
  const Survey found = survey(session->data.messages);
  std::optional<Correlation> correlation;
  if (!wanted.no_search && !session->data.channels.empty()) {
    announce_long_search(session->data);
    const Ticker ticker("trying every field against the readings");
    correlation = correlate(session->data.messages, session->data.channels, found);
  }
  const SignalMap map = file ? std::move(file->read.map)
                             : draft_of(*session, found, correlation.value_or(Correlation{}));
  PageInput input;
  input.title = title_of(wanted, session->source);
  input.source = session->source;
  input.messages = session->data.messages;
  input.channels = session->data.channels;
  input.survey = &found;
  input.map = &map;
  input.map_name = std::filesystem::path(wanted.map).filename().string();
  input.correlation = correlation ? &*correlation : nullptr;
  input.lost = session->lost;
  input.incidents = session->incidents;
  if (!wanted.check.empty()) {
    say("checking against " + wanted.check + " ...");
    auto check = check_against(wanted, map);
    if (!check) return fail(check.error().message);
    input.check = std::move(*check);
  }
  say("drawing ...");
  return write_page(wanted, input);
}

std::function<int()> declare(CLI::App& app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("CAPTURE", wanted->capture, "The capture to show")->required();
  app.add_option("OUT", wanted->out, "The page to write, such as report.html; a page is replaced")
      ->required();
  app.add_option("--session", wanted->session, "Which session; default the last one with frames")
      ->type_name("N");
  app.add_option("--map", wanted->map,
                 "Show this signal map; without it one is drafted from what the search finds")
      ->type_name("MAP");
  auto* check =
      app.add_option("--check", wanted->check,
                     "Hold the map against this other capture's readings, and show the result")
          ->type_name("CAPTURE");
  app.add_option("--check-session", wanted->check_session,
                 "Which session of it; default the last one with frames")
      ->type_name("N")
      ->needs(check);
  app.add_flag("--no-search", wanted->no_search,
               "Do not search for signals: an hour's page in seconds instead of minutes, without "
               "intervals, chances and advice; best with --map");
  app.add_option("--title", wanted->title, "The page's title; default the pack's name")
      ->type_name("TEXT");
  app.footer(
      "The page holds all it needs and asks no network for anything. What it shows is unverified "
      "until\n"
      "checked against a second session, and is a display, never a protection function. Exit "
      "status 1:\n"
      "the page was made, and a check on it failed.\n"
      "\n"
      "Example: what was found in one session, held against another\n"
      "  foundling report captures_demo/tractor-1.capture report.html \\\n"
      "    --check captures_demo/tractor-2.capture");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command report_command() {
  return {"report", "Show a session as one HTML page: bus, bits, stimuli, signals, cells, check",
          declare};
}

}  // namespace foundling
