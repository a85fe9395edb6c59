#include "daemon/batch_writer.h"

#include <doctest/doctest.h>

#include <future>
#include <mutex>

namespace foundling {
namespace {

using std::chrono::milliseconds;

// A sink in memory that fails the first so many times.
class FakeSink final : public RecordSink {
 public:
  explicit FakeSink(int failures = 0, ErrorCode code = ErrorCode::full)
      : failures_(failures), code_(code) {}

  Result<void> store(const RecordBatch& batch) override {
    const std::lock_guard lock(mutex_);
    if (failures_ != 0) {
      --failures_;
      return Error{code_, "no room on the disk"};
    }
    frames_.insert(frames_.end(), batch.frames.begin(), batch.frames.end());
    gaps_.insert(gaps_.end(), batch.gaps.begin(), batch.gaps.end());
    ++commits_;
    return {};
  }
  std::vector<Frame> frames() const {
    const std::lock_guard lock(mutex_);
    return frames_;
  }
  std::vector<Gap> gaps() const {
    const std::lock_guard lock(mutex_);
    return gaps_;
  }
  int commits() const {
    const std::lock_guard lock(mutex_);
    return commits_;
  }

 private:
  mutable std::mutex mutex_;
  int failures_;  // negative: for ever
  ErrorCode code_;
  int commits_ = 0;
  std::vector<Frame> frames_;
  std::vector<Gap> gaps_;
};

Frame frame_at(std::int64_t t_ns, std::uint8_t bus = 0) {
  Frame frame;
  frame.t_ns = t_ns;
  frame.bus = bus;
  return frame;
}

void add(RecordQueue& queue, std::int64_t t_ns, std::uint8_t bus = 0) {
  const Frame frame = frame_at(t_ns, bus);
  queue.add_frames({&frame, 1});
}

}  // namespace

TEST_CASE("every frame of a busy thread is stored once and in order, in few commits") {
  RecordQueue queue(1'000'000);
  FakeSink sink;
  BatchWriter writer(queue, sink);
  for (int i = 0; i < 100'000; ++i) add(queue, i);
  CHECK(writer.finish(milliseconds(1000)) == 0);
  const auto frames = sink.frames();
  REQUIRE(frames.size() == 100'000);
  for (std::size_t i = 0; i < frames.size(); ++i) {
    REQUIRE(frames[i].t_ns == static_cast<std::int64_t>(i));
  }
  CHECK(sink.commits() < 100);
  CHECK(writer.stored() == 100'000);
}

TEST_CASE("a lone frame is committed without a further one coming") {
  RecordQueue queue(10);
  FakeSink sink;
  BatchWriter writer(queue, sink, {milliseconds(20), 1000});
  add(queue, 1);
  const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds(20);
  while (sink.commits() == 0 && std::chrono::steady_clock::now() < give_up) {
    std::this_thread::sleep_for(milliseconds(1));
  }
  CHECK(sink.commits() == 1);
}

TEST_CASE("a batch that cannot be stored is kept and stored when the disk has room again") {
  RecordQueue queue(1000);
  FakeSink sink(2);
  BatchWriter writer(queue, sink, {milliseconds(1), 1000});
  for (int i = 0; i < 50; ++i) add(queue, i);
  const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds(20);
  while (writer.stored() < 50 && std::chrono::steady_clock::now() < give_up) {
    std::this_thread::sleep_for(milliseconds(1));
  }
  CHECK(writer.finish(milliseconds(5000)) == 0);
  CHECK(sink.frames().size() == 50);
  CHECK_FALSE(writer.failing());
}

TEST_CASE("another process writing for a moment is waited for and is no fault") {
  RecordQueue queue(1000);
  FakeSink sink(20, ErrorCode::busy);
  BatchWriter writer(queue, sink, {milliseconds(1), 1000});
  bool complained = false;
  add(queue, 1);
  const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds(20);
  while (writer.stored() < 1 && std::chrono::steady_clock::now() < give_up) {
    complained = complained || writer.failing();
    std::this_thread::sleep_for(milliseconds(1));
  }
  CHECK(writer.stored() == 1);
  CHECK_FALSE(complained);
}

TEST_CASE("stored and lost add up when the disk fails for longer than memory lasts") {
  RecordQueue queue(100);
  FakeSink sink(1);
  BatchWriter writer(queue, sink, {milliseconds(1), 1000});
  add(queue, 0);
  while (!writer.failing()) std::this_thread::sleep_for(milliseconds(1));
  for (int i = 1; i <= 500; ++i) add(queue, i);  // within the wait of 100 ms, or lost to nobody
  CHECK(writer.finish(milliseconds(5000)) == 0);
  std::uint64_t lost = 0;
  for (const Gap& gap : sink.gaps()) lost += gap.frames_lost;
  CHECK(sink.frames().size() + lost == 501);
}

TEST_CASE("a disk that never comes back is given up at the end and the frames are counted") {
  RecordQueue queue(100);
  FakeSink sink(-1);
  BatchWriter writer(queue, sink, {milliseconds(1), 1000});
  for (int i = 0; i < 7; ++i) add(queue, i);
  CHECK(writer.finish(milliseconds(10)) == 7);
  CHECK(writer.stored() == 0);
}

TEST_CASE("frames of two buses in one batch are stored by time, each bus in its own order") {
  RecordQueue queue(100);
  FakeSink sink;
  BatchWriter writer(queue, sink, {milliseconds(10'000), 1000});
  for (const std::int64_t t_ns : {10, 20, 30}) add(queue, t_ns, 0);
  for (const std::int64_t t_ns : {5, 20, 25}) add(queue, t_ns, 1);
  writer.finish(milliseconds(1000));
  const auto frames = sink.frames();
  REQUIRE(frames.size() == 6);
  const std::int64_t times[] = {5, 10, 20, 20, 25, 30};
  const int buses[] = {1, 0, 0, 1, 1, 0};
  for (std::size_t i = 0; i < 6; ++i) {
    CHECK(frames[i].t_ns == times[i]);
    CHECK(frames[i].bus == buses[i]);
  }
}

}  // namespace foundling
