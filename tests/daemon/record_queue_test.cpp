#include "daemon/record_queue.h"

#include <doctest/doctest.h>

#include <utility>
#include <vector>

#include "tests/daemon/fake_clock.h"

namespace foundling {
namespace {

using std::chrono::milliseconds;

constexpr CommitPolicy at_once{milliseconds(0), 1};

std::vector<Frame> frames_at(std::initializer_list<std::int64_t> times, std::uint8_t bus = 0) {
  std::vector<Frame> frames;
  for (const std::int64_t t_ns : times) {
    Frame frame;
    frame.t_ns = t_ns;
    frame.bus = bus;
    frames.push_back(frame);
  }
  return frames;
}

}  // namespace

TEST_CASE("a commit is due 150 ms after the first record, or with a full batch") {
  const CommitPolicy policy;
  CHECK(policy.wait(milliseconds(0), 1) == milliseconds(150));
  CHECK(policy.wait(milliseconds(149), 19'999) == milliseconds(1));
  CHECK(policy.wait(milliseconds(150), 1) == milliseconds(0));
  CHECK(policy.wait(milliseconds(900), 1) == milliseconds(0));
  CHECK(policy.wait(milliseconds(0), 20'000) == milliseconds(0));
}

TEST_CASE("waits after a failure double up to the longest and start anew after success") {
  Backoff backoff(milliseconds(100), milliseconds(300));
  CHECK(backoff.next() == milliseconds(100));
  CHECK(backoff.next() == milliseconds(200));
  CHECK(backoff.next() == milliseconds(300));
  CHECK(backoff.next() == milliseconds(300));
  backoff.reset();
  CHECK(backoff.next() == milliseconds(100));
}

TEST_CASE("two batches take turns in the memory that was there from the start") {
  constexpr std::size_t full_batch = CommitPolicy().full_batch;
  RecordQueue queue(10 * full_batch);
  const auto pass = [&](std::size_t frames) {
    queue.add_frames(std::vector<Frame>(frames));
    RecordBatch batch = queue.take(at_once);
    CHECK(batch.frames.size() == frames);
    const std::pair room{batch.frames.data(), batch.frames.capacity()};
    queue.give_back(std::move(batch));
    return room;
  };
  const auto one = pass(1);
  const auto other = pass(full_batch);
  CHECK(one.second == full_batch);
  for (int i = 0; i < 10; ++i) {
    CHECK(pass(100) == one);
    CHECK(pass(full_batch) == other);
  }
  // What piled up while a disk was stuck is given back.
  CHECK(pass(5 * full_batch).second > full_batch);
  CHECK(pass(1).second == full_batch);
  CHECK(pass(1).second == full_batch);
}

TEST_CASE("what is put in comes out, in order, and leaves the queue empty") {
  RecordQueue queue(10);
  queue.add_frames(frames_at({1, 2}));
  queue.add_frames(frames_at({3}));
  queue.add_clock({5, 6, 7});
  queue.add_gap({1, 2, 0, 4, "why"});
  const RecordBatch batch = queue.take(at_once);
  REQUIRE(batch.frames.size() == 3);
  CHECK(batch.frames[2].t_ns == 3);
  CHECK(batch.clock.size() == 1);
  CHECK(batch.gaps.size() == 1);
  CHECK(queue.level().waiting == 0);
  CHECK(queue.level().lost == 4);
}

TEST_CASE("frames that find no room become one gap a bus with their number and times") {
  RecordQueue queue(2);
  queue.add_frames(frames_at({1, 2, 3}));
  queue.add_frames(frames_at({4}, 1));
  queue.add_frames(frames_at({5}));
  const RecordBatch batch = queue.take(at_once);
  REQUIRE(batch.frames.size() == 2);
  REQUIRE(batch.gaps.size() == 2);
  CHECK(batch.gaps[0].bus == 0);
  CHECK(batch.gaps[0].frames_lost == 2);
  CHECK(batch.gaps[0].from_ns == 3);
  CHECK(batch.gaps[0].to_ns == 5);
  CHECK(batch.gaps[0].why == "the disk did not keep up");
  CHECK(batch.gaps[1].frames_lost == 1);
  CHECK(queue.level().lost == 3);
  queue.add_frames(frames_at({6}));
  CHECK(queue.take(at_once).frames.size() == 1);
}

TEST_CASE("a gap that finds no room still counts") {
  RecordQueue queue(1);
  queue.add_gap({1, 2, 0, 10, "a"});
  queue.add_gap({3, 4, 0, 20, "b"});
  const RecordBatch batch = queue.take(at_once);
  REQUIRE(batch.gaps.size() == 2);
  CHECK(batch.gaps[0].frames_lost + batch.gaps[1].frames_lost == 30);
  CHECK(queue.level().lost == 30);
}

TEST_CASE("an overflow is blamed on what is known of it") {
  RecordQueue queue(1);
  queue.blame("could not be written: the disk is full");
  queue.add_frames(frames_at({1, 2}));
  CHECK(queue.take(at_once).gaps.at(0).why == "could not be written: the disk is full");
}

TEST_CASE("a closed queue hands over the rest and then nothing") {
  RecordQueue queue(10);
  queue.add_frames(frames_at({1}));
  queue.close();
  CHECK(queue.take(CommitPolicy{}).frames.size() == 1);
  CHECK(queue.take(CommitPolicy{}).empty());
}

}  // namespace foundling
