#include "daemon/bus_recorder.h"

#include <doctest/doctest.h>
#include <linux/can/error.h>

#include "tests/daemon/fake_clock.h"

namespace foundling {
namespace {

struct Bench {
  FakeClock clock;
  std::int64_t start_wall = clock.pair.wall_ns;
  TimeLine line{clock.pair.boot_ns, clock.pair};
  RecordQueue queue{1000};
  BusRecorder recorder{3, line, queue};

  Arrival at(std::int64_t t_ns, std::optional<std::uint32_t> drops = {}) const {
    Arrival arrival;
    arrival.frame.id = CanId::standard(0x123);
    arrival.wall_ns = start_wall + t_ns;
    arrival.drops = drops;
    return arrival;
  }
  [[nodiscard]] Arrival overrun_at(std::int64_t t_ns) const {
    Arrival arrival = at(t_ns);
    arrival.frame.id = {0x20000004U};
    arrival.frame.length = 8;
    arrival.frame.payload[1] = 1;
    return arrival;
  }
  void look_at(std::int64_t t_ns) {
    clock.pass(start_wall + t_ns - clock.pair.wall_ns);
    line.look(clock.now());
  }
  RecordBatch stored() { return queue.take({std::chrono::milliseconds(0), 1}); }
};

}  // namespace

TEST_CASE("a frame is stored with its bus and its time on the line") {
  Bench bench;
  bench.look_at(20 * ms);
  bench.recorder.arrived(std::vector{bench.at(12 * ms)});
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.frames.size() == 1);
  CHECK(batch.frames[0].bus == 3);
  CHECK(batch.frames[0].t_ns == 12 * ms);
  CHECK(batch.frames[0].id == CanId::standard(0x123));
}

TEST_CASE("drops lie between the frame before and the frame that tells of them") {
  Bench bench;
  bench.look_at(100 * ms);
  bench.recorder.arrived(
      std::vector{bench.at(10 * ms), bench.at(20 * ms, 0), bench.at(50 * ms, 17)});
  const RecordBatch batch = bench.stored();
  CHECK(batch.frames.size() == 3);
  REQUIRE(batch.gaps.size() == 1);
  CHECK(batch.gaps[0].frames_lost == 17);
  CHECK(batch.gaps[0].from_ns == 20 * ms);
  CHECK(batch.gaps[0].to_ns == 50 * ms);
  CHECK(batch.gaps[0].bus == 3);
}

TEST_CASE("trailing drops are asked of the socket and counted once") {
  Bench bench;
  bench.look_at(100 * ms);
  bench.recorder.arrived(std::vector{bench.at(10 * ms, 5)});
  bench.recorder.drops_so_far(8, 100 * ms);
  bench.recorder.drops_so_far(8, 100 * ms);
  bench.look_at(200 * ms);
  bench.recorder.arrived(std::vector{bench.at(150 * ms, 8)});
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.gaps.size() == 2);
  CHECK(batch.gaps[0].frames_lost == 5);
  CHECK(batch.gaps[1].frames_lost == 3);
  CHECK(batch.gaps[1].from_ns == 10 * ms);
  CHECK(batch.gaps[1].to_ns == 100 * ms);
  CHECK(bench.queue.level().lost == 8);
}

TEST_CASE("error frames become events and are no frames") {
  Bench bench;
  bench.look_at(100 * ms);
  Arrival error = bench.at(10 * ms);
  error.frame.id = {0x20000020U};
  error.frame.length = 8;
  bench.recorder.arrived(std::vector{error, bench.at(11 * ms)});
  const RecordBatch batch = bench.stored();
  CHECK(batch.frames.size() == 1);
  CHECK(batch.gaps.empty());
  REQUIRE(batch.events.size() == 1);
  CHECK(batch.events[0].t_ns == 10 * ms);
  CHECK(batch.events[0].bus == 3);
  CHECK(batch.events[0].can_id == 0x20000020U);
  CHECK(batch.events[0].kind == "error-frame");
  CHECK(batch.events[0].detail == "no acknowledge");
  const auto tally = bench.recorder.take_tally();
  CHECK(tally.errors == 1);
  CHECK(tally.last_error == "no acknowledge");
}

TEST_CASE("an overrun inside the adapter is a gap around it, whose number nobody knows") {
  Bench bench;
  bench.look_at(200 * ms);
  const Arrival error = bench.overrun_at(60 * ms);
  // The loss may lie before the frames that the controller held when it overran, and of what it
  // lost while these were read, after those that it held then.
  std::vector<Arrival> arrivals;
  for (int i = 0; i < 50; ++i) arrivals.push_back(bench.at((10 + i) * ms));
  arrivals.insert(arrivals.end(), {error, error});
  for (int i = 0; i < 50; ++i) arrivals.push_back(bench.at((61 + i) * ms));
  bench.recorder.arrived(arrivals);
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.gaps.size() == 1);
  CHECK(batch.gaps[0].frames_lost == 0);
  CHECK(batch.gaps[0].from_ns == (59 - 31) * ms);
  CHECK(batch.gaps[0].to_ns == (60 + 32) * ms);
}

TEST_CASE("after a pause an overrun's gap ends with the next frame") {
  Bench bench;
  bench.look_at(200 * ms);
  const Arrival error = bench.overrun_at(60 * ms);
  bench.recorder.arrived(std::vector{bench.at(59 * ms), error, bench.at(62 * ms),
                                     bench.at(130 * ms), bench.at(131 * ms)});
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.gaps.size() == 1);
  CHECK(batch.gaps[0].to_ns == 130 * ms);
}

TEST_CASE("an overrun that nothing follows is a gap up to the next look") {
  Bench bench;
  bench.look_at(100 * ms);
  const Arrival error = bench.overrun_at(10 * ms);
  bench.recorder.arrived(std::vector{error});
  bench.recorder.controller_is("", 90 * ms);
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.gaps.size() == 1);
  CHECK(batch.gaps[0].to_ns == 90 * ms);
}

TEST_CASE("a lost link is one gap, from its loss to its return") {
  Bench bench;
  bench.look_at(500 * ms);
  bench.recorder.link_lost(100 * ms, "the interface is down");
  bench.recorder.link_lost(200 * ms, "the interface is down");
  bench.recorder.link_back(400 * ms);
  bench.recorder.link_back(450 * ms);
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.gaps.size() == 1);
  CHECK(batch.gaps[0].from_ns == 100 * ms);
  CHECK(batch.gaps[0].to_ns == 400 * ms);
  CHECK(batch.gaps[0].why == "the interface is down");
}

TEST_CASE("a frame proves that the link is back") {
  Bench bench;
  bench.look_at(500 * ms);
  bench.recorder.link_lost(100 * ms, "the interface is down");
  bench.recorder.arrived(std::vector{bench.at(300 * ms)});
  CHECK_FALSE(bench.recorder.link_is_lost());
  CHECK(bench.stored().gaps.at(0).to_ns == 300 * ms);
}

TEST_CASE("a gap still open at the end is closed there") {
  Bench bench;
  bench.recorder.link_lost(100 * ms, "the interface is gone");
  bench.recorder.stopped(900 * ms);
  CHECK(bench.stored().gaps.at(0).to_ns == 900 * ms);
}

TEST_CASE("a new socket's counter does not count the old one's drops again") {
  Bench bench;
  bench.look_at(500 * ms);
  bench.recorder.arrived(std::vector{bench.at(10 * ms, 40)});
  bench.recorder.new_source();
  bench.recorder.arrived(std::vector{bench.at(20 * ms, 2)});
  CHECK(bench.queue.level().lost == 42);
}

TEST_CASE("stamps that run backwards are stored in the order of arrival") {
  Bench bench;
  bench.look_at(500 * ms);
  bench.recorder.arrived(std::vector{bench.at(20 * ms), bench.at(19 * ms), bench.at(21 * ms)});
  const RecordBatch batch = bench.stored();
  CHECK(batch.frames[1].t_ns == 20 * ms);
  CHECK(batch.frames[2].t_ns == 21 * ms);
}

TEST_CASE("frames for which the kernel had no room before any socket are a gap with their number") {
  Bench bench;
  bench.look_at(100 * ms);
  bench.recorder.new_source(5);  // dropped before we came
  bench.recorder.arrived(std::vector{bench.at(10 * ms)});
  bench.recorder.interface_drops_so_far(5, 99 * ms, 100 * ms);
  bench.recorder.arrived(std::vector{bench.at(150 * ms), bench.at(170 * ms)});
  bench.recorder.interface_drops_so_far(12, 199 * ms, 200 * ms);
  bench.recorder.interface_drops_so_far(12, 299 * ms, 300 * ms);
  bench.recorder.interface_drops_so_far(2, 399 * ms, 400 * ms);  // made anew: it counts from zero
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.gaps.size() == 2);
  CHECK(batch.gaps[0].frames_lost == 7);
  // Maybe before the frames that came meanwhile: the counter says how many, not when.
  CHECK(batch.gaps[0].from_ns == 99 * ms);
  CHECK(batch.gaps[0].to_ns == 200 * ms);
  CHECK(batch.gaps[1].frames_lost == 2);
  CHECK(batch.gaps[1].from_ns == 299 * ms);
}

TEST_CASE("the controller's state and counters are stored when they change") {
  Bench bench;
  bench.recorder.controller_is("error active", 1 * second);
  bench.recorder.controller_is("error active", 2 * second);
  bench.recorder.controller_is("error passive", 3 * second);
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.events.size() == 2);
  CHECK(batch.events[0].kind == "counters");
  CHECK(batch.events[1].detail == "error passive");
  CHECK(batch.events[1].t_ns == 3 * second);
}

TEST_CASE(
    "a flood of error frames is stored as a hundred and a count by class, state changes whole") {
  Bench bench;
  bench.look_at(900 * ms);
  Arrival stuff = bench.at(500 * ms);
  stuff.frame.id = {CanId::error_flag | CAN_ERR_PROT};
  stuff.frame.length = 8;
  stuff.frame.payload[2] = CAN_ERR_PROT_STUFF;
  bench.recorder.arrived(std::vector<Arrival>(1100, stuff));
  Arrival off = stuff;
  off.frame.id = {CanId::error_flag | CAN_ERR_BUSOFF};
  bench.recorder.arrived(std::vector{off});
  bench.recorder.stopped(900 * ms);
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.events.size() == 102);
  CHECK(batch.events[100].kind == "state");
  CHECK(batch.events[101].detail ==
        "1000 further error frames within a second; 1000 of: protocol violation: stuff error");
  CHECK(batch.events[101].can_id == (CanId::error_flag | CAN_ERR_PROT));
  CHECK(bench.recorder.take_tally().errors == 1101);
}

TEST_CASE("a flood of overruns is a hundred events and a count, under one gap") {
  Bench bench;
  bench.look_at(900 * ms);
  bench.recorder.arrived(std::vector<Arrival>(5100, bench.overrun_at(500 * ms)));
  bench.recorder.stopped(900 * ms);
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.events.size() == 101);
  CHECK(batch.events[100].detail ==
        "5000 further error frames within a second; 5000 of: " + batch.events[0].detail);
  CHECK(batch.gaps.size() == 1);
}

TEST_CASE("error frames of ever other kinds take no more room than a few") {
  Bench bench;
  bench.look_at(900 * ms);
  std::vector<Arrival> flood(20'000, bench.overrun_at(500 * ms));
  for (std::size_t i = 0; i < flood.size(); ++i) {
    flood[i].frame.id.raw |= static_cast<std::uint32_t>(i) << 9U & 0x1FFFFE00U;
    flood[i].frame.payload[2] = static_cast<std::uint8_t>(i);
  }
  bench.recorder.arrived(flood);
  bench.recorder.stopped(900 * ms);
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.events.size() == 101);
  CHECK(batch.events[100].detail.find("19900 further error frames") == 0);
  CHECK(batch.events[100].detail.size() < 10'000);
}

TEST_CASE("a stamp of the adapter's own clock gives the time, never running backwards") {
  Bench bench;
  bench.look_at(100 * ms);
  std::vector<Arrival> arrivals{bench.at(10 * ms), bench.at(30 * ms), bench.at(31 * ms)};
  // Its clock began 7 s ago; the kernel saw the second frame 15 ms late.
  arrivals[0].hardware_ns = 7'000 * ms;
  arrivals[1].hardware_ns = 7'005 * ms;
  arrivals[2].hardware_ns = 7'021 * ms;
  bench.recorder.arrived(arrivals);
  const RecordBatch batch = bench.stored();
  CHECK(batch.frames[0].t_ns == 10 * ms);
  CHECK(batch.frames[1].t_ns == 15 * ms);
  CHECK(batch.frames[2].t_ns == 31 * ms);
  CHECK(bench.recorder.take_tally().hardware_time);
}

}  // namespace foundling
