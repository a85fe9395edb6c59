// The writing thread: takes batches from the queue and stores each in one transaction. A batch that
// cannot be stored is kept and tried again, while the queue takes what it can hold.
#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <mutex>
#include <thread>

#include "daemon/commit_policy.h"
#include "daemon/record_queue.h"
#include "daemon/record_sink.h"

namespace foundling {

class BatchWriter {
 public:
  // Both must outlive the writer.
  BatchWriter(RecordQueue& queue, RecordSink& sink, CommitPolicy policy = {});
  ~BatchWriter();
  BatchWriter(const BatchWriter&) = delete;
  BatchWriter& operator=(const BatchWriter&) = delete;

  // Closes the queue, stores what is left and ends the thread; gives up on a disk that still fails
  // after `patience`. The number of frames that could not be stored.
  std::uint64_t finish(std::chrono::milliseconds patience);

  [[nodiscard]] std::uint64_t stored() const { return stored_; }  // frames
  // The longest commit since the last call.
  std::chrono::nanoseconds take_longest_commit();
  [[nodiscard]] bool failing() const { return failing_; }
  // How long ago its thread last went round: much longer than a second, and it hangs in the disk.
  [[nodiscard]] std::chrono::nanoseconds since_last_turn() const;

 private:
  void run();
  void note_turn();
  void store(RecordBatch& batch);
  void note_removed();
  void succeed(std::size_t frames, std::chrono::nanoseconds took);
  void complain(const Error& error);          // once, until it succeeds
  bool rest(std::chrono::milliseconds wait);  // false: out of patience

  RecordQueue& queue_;
  RecordSink& sink_;
  const CommitPolicy policy_;
  std::chrono::nanoseconds slowest_said_{0};  // of the commits that a message told of
  std::atomic<std::uint64_t> stored_ = 0;
  std::atomic<std::uint64_t> unsaved_ = 0;
  std::atomic<std::int64_t> longest_commit_ns_ = 0;
  std::atomic<bool> failing_ = false;
  std::atomic<std::int64_t> last_turn_ns_ = 0;  // steady clock
  std::mutex mutex_;
  std::condition_variable ending_;
  bool finishing_ = false;
  std::chrono::steady_clock::time_point give_up_;
  std::thread thread_;  // last: it uses all of the above
};

}  // namespace foundling
