// `foundling decode`: a capture's frames through a signal map, as numbers.
#include "tools/decode.h"

#include <CLI/CLI.hpp>
#include <cmath>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "decoder/decode/decode.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/values/nearest_word.h"
#include "tools/name_pattern.h"
#include "tools/signal_file.h"
#include "tools/value_writer.h"

namespace foundling {
namespace {

struct Wanted {
  std::string first;
  std::string second;
  std::optional<std::int64_t> session;
  std::optional<double> from_s;
  std::optional<double> to_s;
  std::vector<std::string> patterns;
  std::string format = "csv";
  double wide_s = 0;
};

int fail(const Error& error) {
  std::cerr << "foundling decode: error: " << error.message << '\n';
  return exit_trouble;
}

std::int64_t nanoseconds(const std::optional<double>& seconds, std::int64_t otherwise) {
  return seconds ? static_cast<std::int64_t>(std::llround(*seconds * 1e9)) : otherwise;
}

// Every pattern has to choose something: a mistyped name must not look like silence on the bus.
Result<void> check_patterns(const SignalMap& map, const std::vector<std::string>& patterns) {
  std::vector<std::string> names;
  for (const Field& field : fields_of(map)) names.push_back(field.name);
  for (const std::string& pattern : patterns) {
    bool found = false;
    for (const std::string& name : names) found = found || matches(pattern, name);
    if (found) continue;
    const auto near = nearest_word(pattern, names);
    return Error{ErrorCode::usage, "the map has no signal '" + pattern + '\'' +
                                       (near ? "; did you mean '" + *near + "'?" : "")};
  }
  return {};
}

std::unique_ptr<ValueWriter> make_writer(const Wanted& wanted, const Decoder& decoder) {
  if (wanted.wide_s > 0) {
    return wide_writer(decoder, nanoseconds(wanted.wide_s, 0));
  }
  return wanted.format == "jsonl" ? json_lines_writer(decoder) : csv_writer(decoder);
}

// Streams: memory does not grow with the capture.
Result<std::uint64_t> decode_session(CaptureReader& capture, const SessionRow& session,
                                     const Wanted& wanted, Decoder& decoder) {
  const auto writer = make_writer(wanted, decoder);
  std::uint64_t values = 0;
  const auto read =
      capture.for_each_frame(session.id, nanoseconds(wanted.from_s, time_from_start),
                             nanoseconds(wanted.to_s, time_to_end), [&](const Frame& frame) {
                               for (const DecodedValue& value : decoder.decode(frame)) {
                                 writer->write(value);
                                 ++values;
                               }
                               return static_cast<bool>(std::cout);  // a closed pipe ends it
                             });
  writer->finish();
  if (!read) return read.error();
  return values;
}

int run(const Wanted& wanted) {
  const auto files = tell_apart(wanted.first, wanted.second);
  if (!files) return fail(files.error());
  const auto map = load_signal_file(files->map, std::cerr);
  if (!map) return fail(map.error());
  const auto known = check_patterns(map->read.map, wanted.patterns);
  if (!known) return fail(known.error());
  auto capture = CaptureReader::open(files->capture);
  if (!capture) return fail(capture.error());
  const auto session = capture->session(wanted.session);
  if (!session) return fail(session.error());

  Decoder decoder(map->read.map, [&wanted](const Field& field) {
    bool chosen = wanted.patterns.empty();
    for (const std::string& pattern : wanted.patterns) chosen |= matches(pattern, field.name);
    return chosen;
  });
  const auto values = decode_session(*capture, *session, wanted, decoder);
  if (!values) return fail(values.error());
  if (*values > 0) return exit_good;
  std::cerr << "foundling decode: session " << session->id << " of " << files->capture << " has "
            << session->frames << " frames, but none that this map has a signal for\n";
  return exit_findings;
}

std::function<int()> declare(CLI::App& app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("CAPTURE", wanted->first, "A capture")->required();
  app.add_option("MAP", wanted->second, "A signal map; the two in either order")->required();
  app.add_option("--session", wanted->session,
                 "Which session; the last one with frames if not said")
      ->type_name("N");
  app.add_option("--from", wanted->from_s, "Only frames from this time in the session on")
      ->type_name("SECONDS");
  app.add_option("--to", wanted->to_s, "Only frames up to this time")->type_name("SECONDS");
  app.add_option("--signal", wanted->patterns,
                 "Only signals of this name; * and ? as in a shell; "
                 "may be given several times")
      ->type_name("PATTERN")
      ->allow_extra_args(false);
  auto* format =
      app.add_option("--format", wanted->format, "csv: a line a value; jsonl: a JSON object a line")
          ->check(CLI::IsMember({"csv", "jsonl"}))
          ->type_name("FORMAT")
          ->capture_default_str();
  app.add_option("--wide", wanted->wide_s,
                 "CSV with a column a signal and a line every STEP seconds, each the newest value")
      ->type_name("STEP")
      ->check(CLI::Range(1e-6, 1e6))
      ->excludes(format);
  app.footer(
      "Values are unverified until checked on a second session (foundling check), and protect "
      "nothing.\n"
      "\n"
      "Example: the cells, once a second, for a spreadsheet\n"
      "  foundling decode bench.capture tractor.signals --signal 'cell_*' --wide 1 > cells.csv");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command decode_command() {
  return {"decode", "Turn a capture's frames into numbers with a signal map", declare};
}

}  // namespace foundling
