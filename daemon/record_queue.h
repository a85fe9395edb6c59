// Between the thread that listens and the thread that writes: everything to be stored, bounded.
// What finds no room is counted and comes out as a gap. Safe to use from both threads.
// Two batches take turns, and their memory is there from the start, so that days of recording take
// no more of it than the first minute; what a stuck disk piles up beyond is given back.
#pragma once

#include <chrono>
#include <condition_variable>
#include <cstddef>
#include <cstdint>
#include <map>
#include <mutex>
#include <span>
#include <string>
#include <vector>

#include "daemon/commit_policy.h"
#include "schemas/capture/rows.h"
#include "schemas/values/frame.h"
#include "schemas/values/reading.h"

namespace foundling {

// Of an instrument that is queried: channels are made when their first reading is stored.
struct ChannelReading {
  Channel channel;
  Reading reading;
};

struct RecordBatch {
  std::vector<Frame> frames;
  std::vector<BusEvent> events;
  std::vector<Gap> gaps;
  std::vector<ClockMark> clock;
  std::vector<Health> health;
  std::vector<ChannelReading> readings;
  std::vector<InstrumentState> instruments;

  [[nodiscard]] bool empty() const {
    return frames.empty() && events.empty() && gaps.empty() && clock.empty() && health.empty() &&
           readings.empty() && instruments.empty();
  }
};

class RecordQueue {
 public:
  // `capacity` frames and as many events at most.
  explicit RecordQueue(std::size_t capacity);

  void add_frames(std::span<const Frame> frames);
  void add_event(BusEvent event);
  void add_gap(Gap gap);
  void add_clock(const ClockMark& mark);
  void add_health(Health health);
  bool add_reading(const Channel& channel, const Reading& reading);  // false: no room
  void add_instrument(InstrumentState state);

  // Blocks until a commit is due, then hands over all there is. Empty: closed, and nothing is left.
  RecordBatch take(const CommitPolicy& policy);
  // A batch that was stored, for its memory to serve again.
  void give_back(RecordBatch batch);
  void close();  // take() no longer waits
  [[nodiscard]] bool closed() const;

  // Frames that were stored and went with their file; the sink has a gap for them.
  void note_removed(std::uint64_t frames);

  // Why room may run out: the words of gaps to come ("the disk did not keep up").
  void blame(std::string why);

  struct Level {
    std::uint64_t waiting = 0;  // frames
    std::uint64_t lost = 0;     // of all gaps so far, with what found no room
  };
  [[nodiscard]] Level level() const;

 private:
  void lose(std::uint8_t bus, std::int64_t from_ns, std::int64_t to_ns, std::uint64_t frames);
  void note_first();
  RecordBatch take_all();

  const std::size_t capacity_;
  const std::size_t room_;  // frames of a batch that need no further memory
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  RecordBatch waiting_;
  RecordBatch spare_;                     // empty, with room for frames
  std::map<std::uint8_t, Gap> overflow_;  // by bus: one growing gap until it can be handed over
  std::chrono::steady_clock::time_point first_added_;
  std::string blame_ = "the disk did not keep up";
  std::uint64_t lost_ = 0;
  bool closed_ = false;
};

}  // namespace foundling
