// An hour of the invented board (five bench sessions end to end), decoded from memory and from the
// file, against a bare loop that selects the same rows with the SQLite C API and looks at every
// column. Frames a second a core, and ratios in the same run, are printed last. The capture is made
// in the working folder.
#include <benchmark/benchmark.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <string>
#include <vector>

#include "decoder/decode/decode.h"
#include "decoder/decode/sanity.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/signals/read.h"
#include "tests/bench/bare_select.h"
#include "tools/board/session.h"
#include "tools/value_writer.h"

namespace foundling {
namespace {

constexpr const char* file = "decode-bench.capture";

const SignalMap& demo_map() {
  static const SignalMap map = [] {
    std::ifstream in(FOUNDLING_SOURCE_DIR "/captures_demo/tractor.signals");
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    return read_signals(text).map;
  }();
  return map;
}

const std::vector<Frame>& hour() {
  static const std::vector<Frame> frames = [] {
    const auto session = board::run_session(board::session_options(1, false));
    std::vector<Frame> all;
    for (std::int64_t i = 0; i < 5; ++i) {
      for (Frame frame : session.frames) {
        frame.t_ns += i * session.duration_ns;
        all.push_back(frame);
      }
    }
    return all;
  }();
  return frames;
}

void make_capture() {
  std::filesystem::remove(file);
  auto capture = CaptureWriter::create(file, CaptureWriter::Purpose::building);
  (void)capture->begin();
  const auto session = capture->begin_session({});
  (void)capture->add_frames(*session, hour());
  (void)capture->end_session(*session, hour().back().t_ns);
  (void)capture->commit();
  (void)capture->close();
}

enum class Work { decode, watch, csv, wide };

// What the command does with each frame, with the text thrown away.
class Contender {
 public:
  explicit Contender(Work work)
      : work_(work), decoder_(demo_map()), watch_(demo_map(), decoder_.fields()) {
    const auto sink = [this](std::string_view text) { bytes_ += text.size(); };
    const Chosen all(decoder_.fields().size(), true);
    if (work == Work::csv) writer_ = csv_writer(decoder_, all, sink);
    if (work == Work::wide) writer_ = wide_writer(decoder_, demo_map(), all, 1'000'000'000, sink);
  }
  void take(const Frame& frame) {
    const auto values = decoder_.decode(frame);
    benchmark::DoNotOptimize(values.data());
    if (work_ != Work::decode) watch_.see(frame, values);
    if (!writer_) return;
    for (const DecodedValue& value : values) writer_->write(value);
  }

 private:
  Work work_;
  Decoder decoder_;
  SanityWatch watch_;
  std::unique_ptr<ValueWriter> writer_;
  std::size_t bytes_ = 0;
};

void count(benchmark::State& state) {
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(hour().size()));
}

void from_memory(benchmark::State& state, Work work) {
  for (auto _ : state) {
    Contender contender(work);
    for (const Frame& frame : hour()) contender.take(frame);
  }
  count(state);
}

void from_file(benchmark::State& state, Work work) {
  for (auto _ : state) {
    Contender contender(work);
    auto capture = CaptureReader::open(file);
    const auto done =
        capture->for_each_frame(1, time_from_start, time_to_end, [&](const Frame& frame) {
          contender.take(frame);
          return true;
        });
    if (!done) state.SkipWithError(done.error().message.c_str());
  }
  count(state);
}

void bare_select(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(foundling::bare_select(file));
  count(state);
}

void often(benchmark::internal::Benchmark* bench) {
  bench->Unit(benchmark::kMillisecond)->Repetitions(7)->ReportAggregatesOnly(true);
}

BENCHMARK(bare_select)->Apply(often);
BENCHMARK_CAPTURE(from_memory, decode, Work::decode)->Apply(often);
BENCHMARK_CAPTURE(from_memory, watch, Work::watch)->Apply(often);
BENCHMARK_CAPTURE(from_memory, csv, Work::csv)->Apply(often);
BENCHMARK_CAPTURE(from_memory, wide, Work::wide)->Apply(often);
BENCHMARK_CAPTURE(from_file, decode, Work::decode)->Apply(often);
BENCHMARK_CAPTURE(from_file, watch, Work::watch)->Apply(often);
BENCHMARK_CAPTURE(from_file, csv, Work::csv)->Apply(often);
BENCHMARK_CAPTURE(from_file, wide, Work::wide)->Apply(often);

class Rates : public benchmark::ConsoleReporter {
 public:
  void ReportRuns(const std::vector<Run>& runs) override {
    ConsoleReporter::ReportRuns(runs);
    for (const Run& run : runs) {
      const auto found = run.counters.find("items_per_second");
      if (found == run.counters.end() || run.aggregate_name != "median") continue;
      rates_[run.run_name.function_name + ' ' + run.run_name.args] = found->second.value;
    }
  }
  void print() const {
    const auto bare = rates_.find("bare_select ");
    if (bare == rates_.end()) return;
    for (const auto& [name, rate] : rates_) {
      std::printf("%-22s %6.2f million frames/s of processor time, %.2f of the bare select\n",
                  name.c_str(), rate / 1e6, rate / bare->second);
    }
  }

 private:
  std::map<std::string, double> rates_;
};

}  // namespace
}  // namespace foundling

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  foundling::make_capture();
  foundling::Rates rates;
  benchmark::RunSpecifiedBenchmarks(&rates);
  rates.print();
  std::filesystem::remove(foundling::file);
  return 0;
}
