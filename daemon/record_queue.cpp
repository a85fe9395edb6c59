#include "daemon/record_queue.h"

#include <algorithm>
#include <utility>

namespace foundling {

namespace {

// Written once, for memory that was only asked for is not there yet.
std::vector<Frame> room_for(std::size_t frames) {
  std::vector<Frame> room(frames);
  room.clear();
  return room;
}

}  // namespace

RecordQueue::RecordQueue(std::size_t capacity)
    : capacity_(capacity), room_(std::min(capacity, CommitPolicy().full_batch)) {
  waiting_.frames = room_for(room_);
  spare_.frames = room_for(room_);
}

void RecordQueue::add_frames(std::span<const Frame> frames) {
  if (frames.empty()) return;
  const std::lock_guard lock(mutex_);
  note_first();
  const std::size_t room = capacity_ - std::min(capacity_, waiting_.frames.size());
  const auto taken = frames.first(std::min(room, frames.size()));
  waiting_.frames.insert(waiting_.frames.end(), taken.begin(), taken.end());
  for (const Frame& frame : frames.subspan(taken.size()))
    lose(frame.bus, frame.t_ns, frame.t_ns, 1);
  changed_.notify_one();
}

// An event that finds no room is an error frame that is lost, and counted like one.
void RecordQueue::add_event(BusEvent event) {
  const std::lock_guard lock(mutex_);
  note_first();
  if (waiting_.events.size() < capacity_) {
    waiting_.events.push_back(std::move(event));
  } else {
    lose(event.bus, event.t_ns, event.t_ns, 1);
  }
  changed_.notify_one();
}

void RecordQueue::add_gap(Gap gap) {
  const std::lock_guard lock(mutex_);
  note_first();
  if (waiting_.gaps.size() < capacity_) {
    lost_ += gap.frames_lost;
    waiting_.gaps.push_back(std::move(gap));
  } else {
    lose(gap.bus, gap.from_ns, gap.to_ns, gap.frames_lost);
  }
  changed_.notify_one();
}

void RecordQueue::add_clock(const ClockMark& mark) {
  const std::lock_guard lock(mutex_);
  note_first();
  if (waiting_.clock.size() < capacity_) waiting_.clock.push_back(mark);
  changed_.notify_one();
}

bool RecordQueue::add_reading(const Channel& channel, const Reading& reading) {
  const std::lock_guard lock(mutex_);
  note_first();
  if (waiting_.readings.size() >= capacity_) return false;
  waiting_.readings.push_back({channel, reading});
  changed_.notify_one();
  return true;
}

void RecordQueue::add_instrument(InstrumentState state) {
  const std::lock_guard lock(mutex_);
  note_first();
  if (waiting_.instruments.size() < capacity_) waiting_.instruments.push_back(std::move(state));
  changed_.notify_one();
}

// Health while nothing can be written tells little; the newest rows are kept.
void RecordQueue::add_health(Health health) {
  constexpr std::size_t rows_kept = 600;
  const std::lock_guard lock(mutex_);
  note_first();
  if (waiting_.health.size() >= rows_kept) waiting_.health.erase(waiting_.health.begin());
  waiting_.health.push_back(std::move(health));
  changed_.notify_one();
}

RecordBatch RecordQueue::take(const CommitPolicy& policy) {
  std::unique_lock lock(mutex_);
  while (!closed_) {
    if (waiting_.empty() && overflow_.empty()) {
      changed_.wait(lock);
      continue;
    }
    const auto age = std::chrono::steady_clock::now() - first_added_;
    const auto wait = policy.wait(age, waiting_.frames.size());
    if (wait == std::chrono::nanoseconds::zero()) break;
    changed_.wait_for(lock, wait);
  }
  return take_all();
}

void RecordQueue::close() {
  const std::lock_guard lock(mutex_);
  closed_ = true;
  changed_.notify_all();
}

bool RecordQueue::closed() const {
  const std::lock_guard lock(mutex_);
  return closed_;
}

void RecordQueue::note_removed(std::uint64_t frames) {
  const std::lock_guard lock(mutex_);
  lost_ += frames;
}

void RecordQueue::blame(std::string why) {
  const std::lock_guard lock(mutex_);
  blame_ = std::move(why);
}

RecordQueue::Level RecordQueue::level() const {
  const std::lock_guard lock(mutex_);
  return {waiting_.frames.size(), lost_};
}

void RecordQueue::lose(std::uint8_t bus, std::int64_t from_ns, std::int64_t to_ns,
                       std::uint64_t frames) {
  lost_ += frames;
  const auto [entry, fresh] = overflow_.try_emplace(bus, Gap{from_ns, to_ns, bus, 0, blame_});
  Gap& gap = entry->second;
  gap.from_ns = std::min(gap.from_ns, from_ns);
  gap.to_ns = std::max(gap.to_ns, to_ns);
  gap.frames_lost += frames;
}

void RecordQueue::note_first() {
  if (waiting_.empty() && overflow_.empty()) first_added_ = std::chrono::steady_clock::now();
}

RecordBatch RecordQueue::take_all() {
  for (auto& [bus, gap] : overflow_) waiting_.gaps.push_back(std::move(gap));
  overflow_.clear();
  return std::exchange(waiting_, std::exchange(spare_, {}));
}

void RecordQueue::give_back(RecordBatch batch) {
  RecordBatch fresh;
  fresh.frames = std::move(batch.frames);
  fresh.frames.clear();
  if (fresh.frames.capacity() > room_) fresh.frames = room_for(room_);
  const std::lock_guard lock(mutex_);
  spare_ = std::move(fresh);
}

}  // namespace foundling
