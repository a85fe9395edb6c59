#include "daemon/batch_writer.h"

#include <spdlog/spdlog.h>

#include <algorithm>

namespace foundling {
namespace {

// A reading that another process writes into the capture takes a few milliseconds; only a lock held
// for much longer is a fault.
constexpr std::chrono::milliseconds somebody_elses_turn{5};
constexpr std::chrono::milliseconds longest_turn{3000};
// With what waits for its commit, this is the second that a power cut may take.
constexpr std::chrono::milliseconds slow_commit{850};

}  // namespace

BatchWriter::BatchWriter(RecordQueue& queue, RecordSink& sink, CommitPolicy policy)
    : queue_(queue), sink_(sink), policy_(policy) {
  note_turn();
  thread_ = std::thread([this] { run(); });
}

BatchWriter::~BatchWriter() { finish(std::chrono::milliseconds::zero()); }

std::uint64_t BatchWriter::finish(std::chrono::milliseconds patience) {
  if (thread_.joinable()) {
    {
      const std::lock_guard lock(mutex_);
      finishing_ = true;
      give_up_ = std::chrono::steady_clock::now() + patience;
    }
    ending_.notify_all();
    queue_.close();
    thread_.join();
  }
  return unsaved_;
}

std::chrono::nanoseconds BatchWriter::take_longest_commit() {
  return std::chrono::nanoseconds(longest_commit_ns_.exchange(0));
}

std::chrono::nanoseconds BatchWriter::since_last_turn() const {
  return std::chrono::steady_clock::now().time_since_epoch() -
         std::chrono::nanoseconds(last_turn_ns_);
}

void BatchWriter::note_turn() {
  last_turn_ns_ =
      std::chrono::nanoseconds(std::chrono::steady_clock::now().time_since_epoch()).count();
}

void BatchWriter::run() {
  for (;;) {
    note_turn();
    RecordBatch batch = queue_.take(policy_);
    if (batch.empty()) return;
    store(batch);
    queue_.give_back(std::move(batch));
  }
}

void BatchWriter::store(RecordBatch& batch) {
  // Frames of several buses come from several sockets, each in order.
  const auto earlier = [](const Frame& a, const Frame& b) { return a.t_ns < b.t_ns; };
  if (!std::ranges::is_sorted(batch.frames, earlier)) {
    std::stable_sort(batch.frames.begin(), batch.frames.end(), earlier);
  }
  Backoff backoff(std::chrono::milliseconds(100), std::chrono::milliseconds(3000));
  const auto first_try = std::chrono::steady_clock::now();
  for (;;) {
    note_turn();
    const auto started = std::chrono::steady_clock::now();
    const Result<void> outcome = sink_.store(batch);
    note_removed();
    if (outcome) return succeed(batch.frames.size(), std::chrono::steady_clock::now() - started);
    std::chrono::milliseconds pause = somebody_elses_turn;
    if (outcome.error().code != ErrorCode::busy || started - first_try > longest_turn) {
      complain(outcome.error());
      pause = backoff.next();
    }
    if (!rest(pause)) {
      unsaved_ += batch.frames.size();
      return;
    }
  }
}

void BatchWriter::succeed(std::size_t frames, std::chrono::nanoseconds took) {
  longest_commit_ns_ = std::max<std::int64_t>(longest_commit_ns_, took.count());
  stored_ += frames;
  if (took > slow_commit && took > 2 * slowest_said_) {
    slowest_said_ = took;
    spdlog::warn("the disk took {:.1f} s to store a batch; a power cut would lose as much",
                 std::chrono::duration<double>(took).count());
  }
  if (!failing_.exchange(false)) return;
  spdlog::info("writing to the capture again");
  queue_.blame("the disk did not keep up");
}

void BatchWriter::note_removed() {
  const std::uint64_t removed = sink_.take_removed();
  if (removed == 0) return;
  stored_ -= removed;
  queue_.note_removed(removed);
}

void BatchWriter::complain(const Error& error) {
  if (failing_.exchange(true)) return;
  spdlog::error("cannot write: {}; keeping frames in memory and trying again", error.message);
  queue_.blame("could not be written: " + error.message);
}

// The wait is cut short by finish(), so that a stop need not wait for a long back-off.
bool BatchWriter::rest(std::chrono::milliseconds wait) {
  std::unique_lock lock(mutex_);
  if (!finishing_) {
    ending_.wait_for(lock, wait, [this] { return finishing_; });
    return true;
  }
  const auto now = std::chrono::steady_clock::now();
  if (now >= give_up_) return false;
  lock.unlock();
  std::this_thread::sleep_for(std::min<std::chrono::nanoseconds>(wait, give_up_ - now));
  return true;
}

}  // namespace foundling
