// Frames a second into a capture: our writer, and the recorder's whole way from the queue on,
// against a bare loop that inserts the same rows with the SQLite C API into the same table with the
// same pragmas and the same number of rows a commit. The ratios are printed last; the absolute
// numbers belong to the machine. Files are made in the working folder.
#include <benchmark/benchmark.h>
#include <sqlite3.h>

#include <cstdio>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "daemon/batch_writer.h"
#include "daemon/capture_sink.h"
#include "schemas/capture/capture_writer.h"

namespace foundling {
namespace {

constexpr const char* file = "recording-bench.capture";
// 1,350 rows: what a saturated 1 Mbit/s bus (9,000 frames/s) brings in the 150 ms between commits.
constexpr std::int64_t rows_a_commit = 1350;
constexpr std::int64_t commits = 40;

std::vector<Frame> made_up_frames(std::int64_t count) {
  std::vector<Frame> frames(static_cast<std::size_t>(count));
  std::uint64_t dice = 1;
  for (std::size_t i = 0; i < frames.size(); ++i) {
    dice = dice * 6364136223846793005ULL + 1442695040888963407ULL;  // Knuth's MMIX generator
    frames[i].t_ns = static_cast<std::int64_t>(i) * 111'000;
    frames[i].id = CanId::standard(static_cast<std::uint32_t>(dice >> 40U));
    frames[i].length = 8;
    for (std::size_t k = 0; k < 8; ++k) {
      frames[i].payload[k] = static_cast<std::uint8_t>(dice >> (8 * k));
    }
  }
  return frames;
}

void remove_file() {
  for (const char* end : {"", "-wal", "-shm", ".recording"}) {
    std::filesystem::remove(std::string(file) + end);
  }
}

// A capture with one session, as the recorder makes it.
std::int64_t make_capture() {
  remove_file();
  auto capture = CaptureWriter::create(file);
  const auto session = capture->begin_session({});
  (void)capture->close();
  return *session;
}

void insert_bare(sqlite3* database, sqlite3_stmt* insert, std::int64_t session,
                 std::span<const Frame> frames) {
  sqlite3_exec(database, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr);
  for (const Frame& frame : frames) {
    sqlite3_bind_int64(insert, 1, session);
    sqlite3_bind_int64(insert, 2, frame.t_ns);
    sqlite3_bind_int64(insert, 3, frame.bus);
    sqlite3_bind_int64(insert, 4, frame.id.raw);
    sqlite3_bind_int64(insert, 5, frame.flags);
    sqlite3_bind_blob(insert, 6, frame.payload.data(), frame.length, SQLITE_STATIC);
    sqlite3_step(insert);
    sqlite3_reset(insert);
  }
  sqlite3_exec(database, "COMMIT", nullptr, nullptr, nullptr);
}

void count_rows(benchmark::State& state) {
  state.SetItemsProcessed(state.iterations() * rows_a_commit * commits);
}

void bare_loop(benchmark::State& state) {
  const auto frames = made_up_frames(rows_a_commit);
  for (auto _ : state) {
    state.PauseTiming();
    const std::int64_t session = make_capture();
    sqlite3* database = nullptr;
    sqlite3_stmt* insert = nullptr;
    sqlite3_open(file, &database);
    sqlite3_exec(database,
                 "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;"
                 "PRAGMA journal_size_limit = 16777216;",
                 nullptr, nullptr, nullptr);
    sqlite3_prepare_v2(database, "INSERT INTO frame VALUES (?1, ?2, ?3, ?4, ?5, ?6)", -1, &insert,
                       nullptr);
    state.ResumeTiming();
    for (std::int64_t i = 0; i < commits; ++i) insert_bare(database, insert, session, frames);
    state.PauseTiming();
    sqlite3_finalize(insert);
    sqlite3_close(database);
    state.ResumeTiming();
  }
  count_rows(state);
}

void capture_writer(benchmark::State& state) {
  const auto frames = made_up_frames(rows_a_commit);
  for (auto _ : state) {
    state.PauseTiming();
    const std::int64_t session = make_capture();
    auto capture = CaptureWriter::open(file, std::chrono::milliseconds(1000));
    state.ResumeTiming();
    for (std::int64_t i = 0; i < commits; ++i) {
      (void)capture->begin();
      (void)capture->add_frames(session, frames);
      (void)capture->commit();
    }
    state.PauseTiming();
    (void)capture->close();
    state.ResumeTiming();
  }
  count_rows(state);
}

// As fast as it goes: the queue is filled by this thread while the writing thread empties it. What
// comes in during a commit goes into the next, so commits are fewer and larger than the bare
// loop's.
void queue_and_writer(benchmark::State& state) {
  const auto frames = made_up_frames(rows_a_commit);
  constexpr CommitPolicy policy{std::chrono::milliseconds(150), rows_a_commit};
  for (auto _ : state) {
    state.PauseTiming();
    make_capture();
    auto sink = CaptureSink::open(file, {}, {});
    RecordQueue queue(rows_a_commit * commits);
    BatchWriter writer(queue, **sink, policy);
    state.ResumeTiming();
    for (std::int64_t i = 0; i < commits; ++i) {
      for (std::size_t at = 0; at < frames.size(); at += 54) {  // 25 reads of the socket a commit
        queue.add_frames(
            std::span(frames).subspan(at, std::min<std::size_t>(54, frames.size() - at)));
      }
    }
    if (writer.finish(std::chrono::seconds(10)) != 0) state.SkipWithError("frames were not stored");
    state.PauseTiming();
    (void)(*sink)->finish(0);
    state.ResumeTiming();
  }
  count_rows(state);
}

void often(benchmark::internal::Benchmark* bench) {
  bench->UseRealTime()->Unit(benchmark::kMillisecond)->Repetitions(9)->ReportAggregatesOnly(true);
}

BENCHMARK(bare_loop)->Apply(often);
BENCHMARK(capture_writer)->Apply(often);
BENCHMARK(queue_and_writer)->Apply(often);

// The console's table, and the median rate of each contender.
class Rates : public benchmark::ConsoleReporter {
 public:
  void ReportRuns(const std::vector<Run>& runs) override {
    ConsoleReporter::ReportRuns(runs);
    for (const Run& run : runs) {
      const auto found = run.counters.find("items_per_second");
      if (found == run.counters.end() || run.aggregate_name != "median") continue;
      rates_[run.run_name.function_name] = found->second.value;
    }
  }
  void print() const {
    const auto bare = rates_.find("bare_loop");
    if (bare == rates_.end()) return;
    for (const auto& [name, rate] : rates_) {
      std::printf("%-18s %9.0f frames/s, %.2f of the bare loop, %.0f x a saturated 1 Mbit/s bus\n",
                  name.c_str(), rate, rate / bare->second, rate / 9009);
    }
  }

 private:
  std::map<std::string, double> rates_;
};

}  // namespace
}  // namespace foundling

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  foundling::Rates rates;
  benchmark::RunSpecifiedBenchmarks(&rates);
  rates.print();
  foundling::remove_file();
  return 0;
}
