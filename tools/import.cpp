// `foundling import`: another program's frames and readings into a new capture.
#include "tools/import.h"

#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "schemas/values/shell_word.h"
#include "tools/command_line.h"
#include "tools/exchange/decimal_seconds.h"
#include "tools/exchange/import_session.h"
#include "tools/exchange/report_error.h"
#include "tools/import_layout.h"
#include "tools/progress.h"

namespace foundling {
namespace {

struct Wanted {
  std::string frames, frames_layout, stimulus, stimulus_layout, offset, capture;
  SessionInfo info;
  bool json = false;
};

Progress& progress() {
  static Progress line;
  return line;
}

void show_progress(std::uint64_t frames) {
  static std::uint64_t next = 250'000;
  if (frames < next) return;
  next = frames + 250'000;
  progress().say(std::to_string(frames) + " frames");
}

void tell_outcome(const Wanted& wanted, const ImportOutcome& outcome) {
  for (const std::string& remark : outcome.remarks) std::cerr << "note: " << remark << '\n';
  if (outcome.out_of_order > 0) {
    std::cerr << "note: frames that lay before their predecessor in time: " << outcome.out_of_order
              << "; the frames were sorted\n";
  }
  std::cerr << wanted.capture << ": " << outcome.frames << " frames";
  if (outcome.remote_frames > 0) std::cerr << " (" << outcome.remote_frames << " remote)";
  if (outcome.error_frames > 0) std::cerr << ", " << outcome.error_frames << " error frames";
  std::cerr << ", " << outcome.readings << " readings of " << outcome.channels << " channels\n";
}

void print_json(const Wanted& wanted, const ImportOutcome& outcome) {
  const nlohmann::json result = {{"format", "foundling-import"},
                                 {"version", 1},
                                 {"capture", wanted.capture},
                                 {"frames", outcome.frames},
                                 {"remote_frames", outcome.remote_frames},
                                 {"error_frames", outcome.error_frames},
                                 {"out_of_order", outcome.out_of_order},
                                 {"channels", outcome.channels},
                                 {"readings", outcome.readings},
                                 {"remarks", outcome.remarks}};
  std::cout << result.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
}

// As it was typed, for a line that adds what was left open.
std::string command_line(const Wanted& wanted) {
  std::string line = "foundling import --frames " + shell_word(wanted.frames);
  const auto say = [&](const char* option, const std::string& text) {
    if (!text.empty()) line += std::string(" ") + option + ' ' + shell_word(text);
  };
  say("--frames-layout", wanted.frames_layout);
  say("--stimulus", wanted.stimulus);
  say("--stimulus-layout", wanted.stimulus_layout);
  say("--stimulus-offset", wanted.offset);
  say("--pack", wanted.info.pack);
  say("--board", wanted.info.board);
  say("--note", wanted.info.note);
  if (wanted.json) line += " --json";
  return line + ' ' + shell_word(wanted.capture);
}

// Both are asked about before anything is read whole.
Result<void> settle_layouts(Wanted wanted, ImportOrder& order) {
  const auto frames =
      settle_frames_layout(wanted.frames, wanted.frames_layout, command_line(wanted));
  if (!frames) return frames.error();
  order.frames_layout = *frames;
  if (wanted.stimulus.empty()) return {};
  if (*frames) wanted.frames_layout = frames_layout_words(**frames);
  const auto readings =
      settle_readings_layout(wanted.stimulus, wanted.stimulus_layout, command_line(wanted));
  if (!readings) return readings.error();
  order.stimulus_layout = *readings;
  return {};
}

int run(const Wanted& wanted) {
  ImportOrder order;
  order.frames = wanted.frames;
  if (!wanted.stimulus.empty()) order.stimulus = wanted.stimulus;
  order.capture = wanted.capture;
  order.info = wanted.info;
  order.info.tool_version = "foundling " FOUNDLING_VERSION;
  if (!wanted.offset.empty()) {
    const auto offset = parse_seconds(wanted.offset);
    if (!offset) {
      return report_error("import", {ErrorCode::usage,
                                     "--stimulus-offset: expected seconds like "
                                     "-2.5, found \"" +
                                         wanted.offset + '"'});
    }
    order.stimulus_offset_ns = offset->ns;
  }
  if (auto settled = settle_layouts(wanted, order); !settled) {
    return report_error("import", settled.error());
  }
  const auto outcome = import_session(order, show_progress);
  progress().done();
  if (!outcome) return report_error("import", outcome.error());
  tell_outcome(wanted, *outcome);
  if (wanted.json) print_json(wanted, *outcome);
  return exit_good;
}

void declare_files(CommandLine app, Wanted& wanted) {
  app.add_option("--frames", wanted.frames,
                 "Frames: pcap or pcapng of link type 227, CSV with the header "
                 "time_s,bus,identifier,extended,payload, or another program's table, whose layout "
                 "is guessed, shown and asked about")
      .type_name("FILE")
      .required();
  app.add_option(
         "--frames-layout", wanted.frames_layout,
         "Where what stands in another program's table; columns count from 1. In this "
         "order or another: separator comma, semicolon, tab or blank; decimal point or "
         "comma; skip LINES; time COLUMN s, ms, us, ns or date; identifier COLUMN hex or "
         "decimal; data FIRST..LAST (a byte each) or data COLUMN, hex or decimal; and where "
         "there is one: bus, extended, length COLUMN")
      .type_name("WORDS");
  app.add_option("--stimulus", wanted.stimulus,
                 "What was applied on the bench: CSV with the header time_s,channel,unit,value and "
                 "optionally uncertainty, kind (hold or sample) and earliest_s (since when it may "
                 "have been true, where it was written down late), or another program's table")
      .type_name("FILE");
  app.add_option(
         "--stimulus-layout", wanted.stimulus_layout,
         "Where what stands in that one: separator, decimal, skip and time as above, and "
         "for each channel reading COLUMN CHANNEL UNIT, with hold behind it where the value "
         "was set and held")
      .type_name("WORDS");
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  declare_files(app, *wanted);
  app.add_option("--stimulus-offset", wanted->offset,
                 "Added to every time of the stimulus file, where its clock differs")
      .type_name("SECONDS");
  app.add_option("--pack", wanted->info.pack, "The pack, in your words").type_name("TEXT");
  app.add_option("--board", wanted->info.board, "The board, in your words").type_name("TEXT");
  app.add_option("--note", wanted->info.note, "Anything to remember").type_name("TEXT");
  app.add_flag("--json", wanted->json, "Tell on standard output what was imported");
  app.add_option("CAPTURE", wanted->capture, "The capture to make; an existing file is refused")
      .type_name("NEW.capture")
      .required();
  app.footer(
      "Example: a bench session that another logger recorded\n"
      "  foundling import --frames bench.pcapng --stimulus supply.csv bench.capture\n"
      "Example: its table, with semicolons, decimal commas and a byte a column\n"
      "  foundling import --frames bench.csv --frames-layout 'separator semicolon,\n"
      "    decimal comma, time 1 ms, identifier 2 hex, data 3..10 hex' bench.capture");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command import_command() {
  return {"import", "Make a capture from pcap, pcapng or CSV frames and stimulus CSV", declare};
}

}  // namespace foundling
