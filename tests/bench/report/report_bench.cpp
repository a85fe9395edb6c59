// The report page of an hour at 2,000 frames/s: the invented board's session five times over, on
// six buses at once, with all its readings. Each step's processor time is printed beside that of a
// bare loop that selects the same rows with the SQLite C API. The capture is made in the working
// folder and removed. With the word "search" the search for signals is timed as well: minutes.
#include <chrono>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <utility>
#include <vector>

#include "decoder/analysis/correlate.h"
#include "decoder/analysis/survey.h"
#include "decoder/report/page/page_html.h"
#include "decoder/report/page/page_json.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/signals/read.h"
#include "tests/bench/bare_select.h"
#include "tools/board/session.h"

namespace foundling {
namespace {

constexpr const char* file = "report-bench.capture";
constexpr int rounds = 5;
constexpr int buses = 6;

void make_capture() {
  std::filesystem::remove(file);
  const auto session = board::run_session(board::session_options(1, false));
  auto capture = CaptureWriter::create(file, CaptureWriter::Purpose::building);
  (void)capture->begin();
  SessionInfo info;
  info.bit_rate = 500'000;
  const auto id = capture->begin_session(info);
  for (int round = 0; round < rounds; ++round) {
    std::vector<Frame> frames;
    for (Frame frame : session.frames) {
      frame.t_ns += round * session.duration_ns;
      for (frame.bus = 0; frame.bus < buses; ++frame.bus) frames.push_back(frame);
    }
    (void)capture->add_frames(*id, frames);
  }
  for (const ChannelSeries& series : session.channels) {
    const auto channel = capture->ensure_channel(series.channel);
    for (int round = 0; round < rounds; ++round) {
      std::vector<Reading> readings = series.readings;
      for (Reading& reading : readings) reading.t_ns += round * session.duration_ns;
      (void)capture->add_readings(*id, *channel, readings);
    }
  }
  (void)capture->end_session(*id, rounds * session.duration_ns);
  (void)capture->commit();
  (void)capture->close();
}

double processor_seconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }
double wall_seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

struct Seconds {
  double processor = 0;
  double wall = 0;
};

template <typename Work>
auto timed(const char* name, Work work) {
  const Seconds start{processor_seconds(), wall_seconds()};
  auto result = work();
  const Seconds taken{processor_seconds() - start.processor, wall_seconds() - start.wall};
  std::printf("%-22s %6.2f s of processor time, %6.2f s by the clock\n", name, taken.processor,
              taken.wall);
  std::fflush(stdout);
  return std::pair(std::move(result), taken);
}

SignalMap demo_map() {
  std::ifstream in(FOUNDLING_SOURCE_DIR "/captures_demo/tractor.signals");
  const std::string text{std::istreambuf_iterator<char>(in), {}};
  return read_signals(text).map;
}

int run(bool search) {
  make_capture();
  (void)bare_select(file);  // the file into the system's cache
  const Seconds bare = timed("bare select", [] { return bare_select(file); }).second;
  const auto [data, reading] = timed("reading the session", [] {
    auto capture = CaptureReader::open(file);
    return std::move(capture->load(1)).value();
  });
  const auto [found, surveying] = timed("survey", [&data = data] { return survey(data.messages); });
  const SignalMap map = demo_map();
  PageInput input;
  input.title = "report bench";
  input.source.bit_rate = 500'000;
  input.source.from_ns = data.session.first_ns;
  input.source.to_ns = data.session.last_ns;
  input.messages = data.messages;
  input.channels = data.channels;
  input.survey = &found;
  input.map = &map;
  const auto [page, drawing] = timed(
      "page", [&input] { return page_html(built_in_parts(), input.title, page_json(input)); });
  const Seconds all{reading.processor + surveying.processor + drawing.processor,
                    reading.wall + surveying.wall + drawing.wall};
  std::printf(
      "%llu frames, page of %.2f MB; all of it against reading: %.2f of the processor time, %.2f "
      "by "
      "the clock; against the bare select %.2f and %.2f\n",
      static_cast<unsigned long long>(data.session.frames), static_cast<double>(page.size()) / 1e6,
      all.processor / reading.processor, all.wall / reading.wall, all.processor / bare.processor,
      all.wall / bare.wall);
  if (search) {
    timed("search (not in the sum)", [&data = data, &found = found] {
      return correlate(data.messages, data.channels, found);
    });
  }
  std::filesystem::remove(file);
  return 0;
}

}  // namespace
}  // namespace foundling

int main(int argc, char** argv) {
  return foundling::run(argc > 1 && std::string(argv[1]) == "search");
}
