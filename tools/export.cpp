// `foundling export`: a session out of a capture, for other programs.
#include "tools/export.h"

#include <iostream>
#include <memory>
#include <optional>
#include <string>

#include "schemas/capture/capture_reader.h"
#include "tools/command_line.h"
#include "tools/exchange/export_session.h"
#include "tools/exchange/report_error.h"
#include "tools/exchange/stimulus_csv.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture, frames, stimulus;
  std::optional<std::int64_t> session;
};

bool ends_with(const std::string& text, std::string_view end) {
  return text.size() >= end.size() && text.compare(text.size() - end.size(), end.size(), end) == 0;
}

Result<FrameFormat> format_of(const std::string& path) {
  if (path == "-" || ends_with(path, ".csv") || path.compare(0, 5, "/dev/") == 0) {
    return FrameFormat::csv;
  }
  if (ends_with(path, ".pcapng")) return FrameFormat::pcapng;
  return Error{ErrorCode::usage, path + ": expected a name that ends in .csv or .pcapng"};
}

int fail(const Error& error) { return report_error("export", error); }

int write_frames(const Wanted& wanted, CaptureReader& reader, const SessionRow& session) {
  const auto format = format_of(wanted.frames);
  if (!format) return fail(format.error());
  auto output = OutputFile::open(wanted.frames);
  if (!output) return fail(output.error());
  const auto outcome = export_frames(reader, session, *format, *output);
  if (!outcome) return fail(outcome.error());
  if (auto done = output->finish(); !done) return fail(done.error());
  for (const std::string& loss : outcome->not_carried) std::cerr << "note: " << loss << '\n';
  std::cerr << (wanted.frames == "-" ? "standard output" : wanted.frames) << ": " << outcome->frames
            << " frames of session " << session.id << '\n';
  return exit_good;
}

int write_stimulus(const Wanted& wanted, CaptureReader& reader, const SessionRow& session) {
  const auto channels = reader.channel_series(session.id);
  if (!channels) return fail(channels.error());
  auto output = OutputFile::open(wanted.stimulus);
  if (!output) return fail(output.error());
  std::string text;
  append_stimulus_csv(text, *channels, session.info.origin_ns);
  if (auto done = output->write(text); !done) return fail(done.error());
  if (auto done = output->finish(); !done) return fail(done.error());
  return exit_good;
}

int run(const Wanted& wanted) {
  if (wanted.frames.empty() && wanted.stimulus.empty()) {
    return fail({ErrorCode::usage, "nothing to write: give --frames, --stimulus or both"});
  }
  if (wanted.frames == wanted.stimulus) {
    return fail({ErrorCode::usage, "--frames and --stimulus cannot go to the same place"});
  }
  auto reader = CaptureReader::open(wanted.capture);
  if (!reader) return fail(reader.error());
  const auto session = reader->session(wanted.session);
  if (!session) return fail(session.error());
  if (!wanted.frames.empty()) {
    const int status = write_frames(wanted, *reader, *session);
    if (status != exit_good) return status;
  }
  return wanted.stimulus.empty() ? exit_good : write_stimulus(wanted, *reader, *session);
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("capture", wanted->capture, "The capture to read").type_name("CAPTURE").required();
  app.add_option(
         "--frames", wanted->frames,
         "Where the frames go: a name in .csv or .pcapng, or - for CSV on standard output; a "
         "file of that name is replaced")
      .type_name("FILE");
  app.add_option(
         "--stimulus", wanted->stimulus,
         "Where the valid readings go, as CSV, with the column earliest_s where it is known "
         "since when one may have been true; - for standard output")
      .type_name("FILE");
  app.add_option("--session", wanted->session, "Which session; else the last one with frames")
      .type_name("N");
  app.footer(
      "Example: for a network tool, and the readings for a spreadsheet\n"
      "  foundling export bench.capture --frames bench.pcapng --stimulus bench.csv");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command export_command() {
  return {"export", "Write a session's frames as CSV or pcapng, and its readings as CSV", declare};
}

}  // namespace foundling
