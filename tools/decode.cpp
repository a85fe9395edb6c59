// `foundling decode`: a capture's frames through a signal map, as numbers.
#include "tools/decode.h"

#include <unistd.h>

#include <chrono>
#include <cmath>
#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include "decoder/decode/decode.h"
#include "decoder/decode/sanity.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/recording_lock.h"
#include "schemas/values/nanoseconds.h"
#include "tools/command_line.h"
#include "tools/live/capture_follower.h"
#include "tools/progress.h"
#include "tools/sanity_text.h"
#include "tools/shown_streams.h"
#include "tools/signal_choice.h"
#include "tools/signal_file.h"
#include "tools/stop_signal.h"
#include "tools/terminal.h"
#include "tools/value_writer.h"

namespace foundling {
namespace {

constexpr std::chrono::milliseconds between_looks(25);
// What is on the bus now is in the capture a quarter of a second later (daemon/README.md).
constexpr std::int64_t patience_ns = 1'000'000'000;

struct Wanted {
  std::string first;
  std::string second;
  std::optional<std::int64_t> session;
  std::optional<double> from_s;
  std::optional<double> to_s;
  SignalChoice choice;
  std::string format = "csv";
  double step_s = 0;  // 0: every value
  bool follow = false;
  bool utc = false;
  bool no_sanity = false;
};

int fail(const Error& error) {
  std::cerr << "foundling decode: error: " << error.message << '\n';
  return exit_trouble;
}

std::int64_t nanoseconds(const std::optional<double>& seconds, std::int64_t otherwise) {
  return seconds ? nanoseconds_of(*seconds) : otherwise;
}

// Frames in, text out; the watch sees all of a frame's values, the writer the chosen ones.
class Job {
 public:
  Job(const SignalMap& map, const Wanted& wanted, TimeColumn time)
      : decoder_(map),
        watch_(map, decoder_.fields()),
        watching_(!wanted.no_sanity),
        from_ns_(nanoseconds(wanted.from_s, time_from_start)),
        to_ns_(nanoseconds(wanted.to_s, time_to_end)) {
    for (const Field& field : decoder_.fields()) {
      chosen_.push_back(wanted.choice.takes(field.name, decoder_.entry(field).status));
    }
    const auto sink = [](std::string_view text) { put_exactly(text); };
    if (wanted.step_s > 0) {
      writer_ =
          wide_writer(decoder_, map, chosen_, nanoseconds(wanted.step_s, 0), sink, std::move(time));
    } else if (wanted.format == "jsonl") {
      writer_ = json_lines_writer(decoder_, chosen_, sink, std::move(time));
    } else {
      writer_ = csv_writer(decoder_, chosen_, sink, std::move(time));
    }
  }

  void take(const Frame& frame) {
    if (frame.t_ns < from_ns_ || frame.t_ns > to_ns_) return;
    const auto values = decoder_.decode(frame);
    if (watching_) watch_.see(frame, values);
    for (const DecodedValue& value : values) {
      writer_->write(value);
      values_ += chosen_[value.field] ? 1U : 0U;
    }
  }
  void interrupted() { watch_.forget_counters(); }
  void flush() {
    writer_->flush();
    std::cout.flush();
  }
  void finish() { writer_->finish(); }

  [[nodiscard]] std::int64_t from_ns() const { return from_ns_; }
  [[nodiscard]] std::int64_t to_ns() const { return to_ns_; }
  [[nodiscard]] std::uint64_t values() const { return values_; }
  void tell_sanity() const {
    if (!watching_ || values_ == 0) return;
    std::cerr << sanity_text(watch_.checks(), STDERR_FILENO);
  }

 private:
  Decoder decoder_;
  SanityWatch watch_;
  bool watching_;
  std::int64_t from_ns_;
  std::int64_t to_ns_;
  Chosen chosen_;
  std::unique_ptr<ValueWriter> writer_;
  std::uint64_t values_ = 0;
};

// A bar would be torn apart by data on the same terminal.
class Bar {
 public:
  explicit Bar(const SessionRow& session) : session_(session) {}
  void show(std::int64_t t_ns) {
    if (++frames_ % 4096 != 0 || !shown_) return;
    const auto all = static_cast<double>(session_.last_ns - session_.first_ns);
    progress_.show(static_cast<double>(t_ns - session_.first_ns) / all,
                   std::to_string(frames_) + " of " + std::to_string(session_.frames) + " frames");
  }

 private:
  const SessionRow& session_;
  Progress progress_;
  bool shown_ = !is_terminal(STDOUT_FILENO);
  std::uint64_t frames_ = 0;
};

Error no_wall_clock(const std::string& recording) {
  return {ErrorCode::usage, "--utc: " + recording +
                                " does not say what time of day it was; leave --utc out for the "
                                "seconds of the session"};
}

// By the newest word that the recorder left about the wall clock: it may have been set right only
// when the network came.
Result<TimeColumn> stored_time(CaptureReader& capture, const SessionRow& session, bool utc) {
  if (!utc) return TimeColumn();
  const auto marks = capture.clock_marks(session.id);
  if (!marks) return marks.error();
  const std::int64_t at_start =
      marks->empty() ? session.info.started_utc_ns : marks->back().wall_ns - marks->back().t_ns;
  if (at_start == 0) return no_wall_clock("session " + std::to_string(session.id));
  return TimeColumn([at_start](std::int64_t t_ns) { return at_start + t_ns; });
}

// Streams: memory does not grow with the capture.
int decode_stored(const std::string& path, const SignalMap& map, const Wanted& wanted) {
  auto capture = CaptureReader::open(path);
  if (!capture) return fail(capture.error());
  const auto session = capture->session(wanted.session);
  if (!session) return fail(session.error());
  auto time = stored_time(*capture, *session, wanted.utc);
  if (!time) return fail(time.error());
  Job job(map, wanted, std::move(time).value());
  {
    Bar bar(*session);
    const auto read =
        capture->for_each_frame(session->id, job.from_ns(), job.to_ns(), [&](const Frame& frame) {
          job.take(frame);
          bar.show(frame.t_ns);
          return static_cast<bool>(std::cout);  // a closed pipe ends it
        });
    job.finish();
    if (!read) return fail(read.error());
  }
  job.tell_sanity();
  if (job.values() > 0) return exit_good;
  std::cerr << "foundling decode: session " << session->id << " of " << path << " has "
            << session->frames << " frames, but none that this map has a signal for\n";
  return exit_findings;
}

// Says once what a silent follower waits for.
class Waiting {
 public:
  explicit Waiting(std::filesystem::path capture) : capture_(std::move(capture)) {}

  void for_frames(const Job& job, std::uint64_t frames) {
    if (said_ || job.values() > 0 || Clock::now() - since_ < before_a_word) return;
    said_ = true;
    std::cerr << "foundling decode: " << reason(frames) << "; Ctrl-C ends\n";
  }

 private:
  using Clock = std::chrono::steady_clock;
  static constexpr std::chrono::seconds before_a_word{2};  // most messages come within that

  [[nodiscard]] std::string reason(std::uint64_t frames) const {
    if (frames > 0) {
      return "frames come in, but none yet that this map has a signal for";
    }
    if (RecordingLock::is_held(capture_)) return "waiting for the first frame on the bus";
    return "waiting: no recorder is at work on " + capture_.string() +
           " now; without --follow, or with --from 0, what is stored is decoded";
  }

  std::filesystem::path capture_;
  Clock::time_point since_ = Clock::now();
  bool said_ = false;
};

// Until --to, a signal, or a closed pipe. A capture that cannot be read just now is tried again.
int decode_running(const std::string& path, const SignalMap& map, const Wanted& wanted) {
  using Start = CaptureFollower::Start;
  auto follower = CaptureFollower::open(
      path, wanted.from_s ? Start::with_what_is_stored : Start::with_what_comes, wanted.session);
  if (!follower) return fail(follower.error());
  if (wanted.utc && follower->utc_ns(0) == 0) return fail(no_wall_clock("the recording"));
  TimeColumn time;
  if (wanted.utc) {
    time = TimeColumn([&follower](std::int64_t t_ns) { return follower->utc_ns(t_ns); });
  }
  Job job(map, wanted, std::move(time));
  watch_stop_signals();
  std::string trouble;
  Waiting waiting(path);
  std::uint64_t seen = 0;
  job.flush();  // the heading
  while (!stop_asked() && std::cout) {
    const auto frames = follower->next();
    for (const std::string& news : follower->news()) {
      std::cerr << "foundling decode: " << news << '\n';
      job.interrupted();
    }
    if (!frames && frames.error().message != trouble) {
      trouble = frames.error().message;
      std::cerr << "foundling decode: " << trouble << "; trying again\n";
    }
    if (frames && !frames->empty()) {
      trouble.clear();
      for (const Frame& frame : *frames) job.take(frame);
      seen += frames->size();
      job.flush();
      if (frames->back().t_ns > job.to_ns()) break;
      continue;
    }
    if (const auto now = follower->now_ns(); now && *now - patience_ns > job.to_ns()) break;
    waiting.for_frames(job, seen);
    std::this_thread::sleep_for(between_looks);
  }
  job.finish();
  job.tell_sanity();
  return exit_good;
}

int run(const Wanted& wanted) {
  const auto files = tell_apart(wanted.first, wanted.second);
  if (!files) return fail(files.error());
  const auto map = load_signal_file(files->map, std::cerr);
  if (!map) return fail(map.error());
  const auto left_out = check_choice(map->read.map, wanted.choice);
  if (!left_out) return fail(left_out.error());
  for (const auto& [option, seconds] :
       {std::pair("--from", wanted.from_s), std::pair("--to", wanted.to_s)}) {
    if (seconds && std::isnan(*seconds)) {
      return fail({ErrorCode::usage, std::string(option) + ": expected seconds, found no number"});
    }
  }
  if (wanted.from_s && wanted.to_s && *wanted.from_s > *wanted.to_s) {
    return fail({ErrorCode::usage, "--from is later than --to: nothing lies between"});
  }
  if (!left_out->empty()) std::cerr << "foundling decode: " << *left_out << '\n';
  return wanted.follow ? decode_running(files->capture, map->read.map, wanted)
                       : decode_stored(files->capture, map->read.map, wanted);
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("CAPTURE", wanted->first, "A capture").required();
  app.add_option("MAP", wanted->second, "A signal map; the two in either order").required();
  app.add_option("--session", wanted->session,
                 "Which session; the last one with frames if not said")
      .type_name("N");
  app.add_option("--from", wanted->from_s, "Only frames from this time in the session on")
      .type_name("SECONDS");
  app.add_option("--to", wanted->to_s, "Only frames up to this time").type_name("SECONDS");
  declare_signal_choice(app, wanted->choice);
  app.add_flag("--utc", wanted->utc,
               "Times by the wall clock, in UTC, where the capture knows it; jsonl has both");
  auto format =
      app.add_option("--format", wanted->format, "csv: a line a value; jsonl: a JSON object a line")
          .check(one_of({"csv", "jsonl"}))
          .type_name("FORMAT")
          .capture_default_str();
  app.add_option("--every,--wide", wanted->step_s,
                 "CSV with a column a signal and a line every so many seconds: the newest values, "
                 "empty where they are stale or reserved")
      .type_name("SECONDS")
      .check(number_between(1e-6, 1e6))
      .excludes(format);
  app.add_flag("--follow", wanted->follow,
               "Go on with what is being recorded, over rolled files and restarts of the recorder, "
               "until interrupted; begins now, or with --from where that says");
  app.add_flag("--no-sanity", wanted->no_sanity,
               "Leave out the sanity watch, the plausibility checks whose result goes to stderr");
  app.footer(
      "Values are unverified until checked on a second session (foundling check), and protect "
      "nothing;\n"
      "nor does the sanity watch. A reserved code has an empty value (JSON: null, and its word).\n"
      "\n"
      "Example: the cells, once a second, for a spreadsheet\n"
      "  foundling decode bench.capture tractor.signals --signal 'cell_*' --every 1 > cells.csv");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command decode_command() {
  return {"decode", "Turn a capture's frames into numbers with a signal map", declare};
}

}  // namespace foundling
