#include "daemon/bus_listener.h"

#include <doctest/doctest.h>

#include <chrono>

#include "daemon/asio.h"
#include "tests/daemon/fake_clock.h"
#include "tests/daemon/fake_frame_source.h"

namespace foundling {
namespace {

using std::chrono::milliseconds;

struct Bench {
  asio::io_context loop;
  FakeClock clock;
  RecordQueue queue{1000};
  SessionTime time{clock.pair.boot_ns, clock, queue};
  std::shared_ptr<FakeWire> wire = std::make_shared<FakeWire>();
  InterfaceState state{7, true};
  int opened = 0;
  int restarts = 0;
  bool restart_works = true;
  std::int64_t start_wall = clock.pair.wall_ns;
  BusListener listener{loop, bus(), source(), time, queue};

  Bus bus() {
    return {"can9",
            1,
            [this]() -> Result<std::unique_ptr<FrameSource>> {
              ++opened;
              wire = std::make_shared<FakeWire>();
              wire->index = state.index;
              return source();
            },
            [this] { return state; },
            "the command",
            [this]() -> Result<void> {
              ++restarts;
              if (restart_works) state.off_bus = false;
              return {};
            },
            milliseconds(100)};
  }
  std::unique_ptr<FrameSource> source() const { return std::make_unique<FakeFrameSource>(wire); }
  Arrival at(std::int64_t t_ns) const {
    Arrival arrival;
    arrival.wall_ns = start_wall + t_ns;
    return arrival;
  }
  void run(milliseconds how_long) {
    loop.restart();
    loop.run_for(how_long);
  }
  template <typename Done>
  void run_until(Done done) {
    for (int i = 0; i < 500 && !done(); ++i) run(milliseconds(10));
    CHECK(done());
  }
  RecordBatch stored() { return queue.take({milliseconds(0), 1}); }
};

}  // namespace

TEST_CASE("frames are read as the source becomes readable") {
  Bench bench;
  bench.listener.start();
  bench.clock.pass(100 * ms);
  bench.wire->deliver({bench.at(10 * ms), bench.at(20 * ms)});
  bench.run_until([&] { return bench.queue.level().waiting == 2; });
  bench.wire->deliver({bench.at(30 * ms)});
  bench.run_until([&] { return bench.queue.level().waiting == 3; });
  const RecordBatch batch = bench.stored();
  CHECK(batch.frames[2].t_ns == 30 * ms);
  CHECK(batch.frames[2].bus == 1);
}

TEST_CASE("down: queued frames are still read, a gap begins, the same source goes on") {
  Bench bench;
  bench.listener.start();
  bench.clock.pass(100 * ms);
  bench.state.is_up = false;
  bench.wire->fail(SourceState::down, "Network is down");
  bench.wire->deliver({bench.at(40 * ms)});
  bench.run_until([&] { return bench.queue.level().waiting == 1; });
  bench.run(milliseconds(100));
  bench.clock.pass(900 * ms);
  bench.state.is_up = true;
  bench.run(milliseconds(700));  // longer than the longest wait between two looks
  bench.clock.pass(100 * ms);
  bench.wire->deliver({bench.at(1050 * ms)});
  bench.run_until([&] { return bench.queue.level().waiting == 2; });
  const RecordBatch batch = bench.stored();
  CHECK(bench.opened == 0);
  REQUIRE(batch.gaps.size() == 1);
  CHECK(batch.gaps[0].from_ns == 100 * ms);
  CHECK(batch.gaps[0].to_ns == 1000 * ms);
  CHECK(batch.gaps[0].why == "the interface is down");
}

TEST_CASE("gone: opened anew when an interface of that name is there again, in one gap") {
  Bench bench;
  bench.listener.start();
  bench.clock.pass(100 * ms);
  bench.state = {};
  bench.wire->fail(SourceState::gone, "No such device");
  bench.run(milliseconds(100));
  CHECK(bench.opened == 0);
  bench.clock.pass(400 * ms);
  bench.state = {8, true};
  bench.run_until([&] { return bench.opened == 1; });
  bench.wire->deliver({bench.at(500 * ms)});
  bench.run_until([&] { return bench.queue.level().waiting == 1; });
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.gaps.size() == 1);
  CHECK(batch.gaps[0].from_ns == 100 * ms);
  CHECK(batch.gaps[0].to_ns == 500 * ms);
  CHECK(batch.gaps[0].why == "the interface is gone");
}

TEST_CASE("an interface replaced in silence is noticed by the next tick") {
  Bench bench;
  bench.listener.start();
  bench.state.index = 8;
  bench.listener.tick();
  bench.run_until([&] { return bench.opened == 1; });
  CHECK(bench.stored().gaps.size() == 1);
}

TEST_CASE("drops that no frame told of are counted at the next tick") {
  Bench bench;
  bench.listener.start();
  bench.wire->drops = 12;
  bench.listener.tick();
  bench.listener.tick();
  CHECK(bench.queue.level().lost == 12);
}

TEST_CASE("a controller that is off the bus is restarted when its time has come, in one gap") {
  Bench bench;
  bench.listener.start();
  bench.clock.pass(100 * ms);
  bench.state.off_bus = true;
  bench.listener.tick();
  bench.run(milliseconds(150));
  CHECK(bench.restarts == 0);  // on our clock no time has passed
  bench.restart_works = false;
  bench.clock.pass(150 * ms);
  bench.run_until([&] { return bench.restarts == 1; });
  bench.restart_works = true;
  bench.clock.pass(150 * ms);
  bench.run_until([&] { return bench.restarts == 2; });
  bench.run(milliseconds(600));
  bench.listener.stop();
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.gaps.size() == 1);
  CHECK(batch.gaps[0].why == "the controller is off the bus");
  CHECK(batch.gaps[0].from_ns == 100 * ms);
  CHECK(batch.gaps[0].to_ns == 400 * ms);
}

TEST_CASE("stop reads what is waiting and counts the last drops") {
  Bench bench;
  bench.listener.start();
  bench.clock.pass(100 * ms);
  bench.wire->deliver({bench.at(10 * ms)});
  bench.wire->deliver({bench.at(20 * ms)});
  bench.wire->drops = 3;
  bench.listener.stop();
  CHECK(bench.stored().frames.size() == 2);
  CHECK(bench.queue.level().lost == 3);
}

TEST_CASE("a clock that is set is recorded once, whoever looks first") {
  Bench bench;
  bench.clock.pass(100 * ms);
  bench.clock.set_wall_by(-3600 * second);
  bench.time.look();
  bench.time.look();
  const RecordBatch batch = bench.stored();
  REQUIRE(batch.clock.size() == 2);  // the mark at the start, and the step
  CHECK(batch.clock[0].step_ns == 0);
  CHECK(batch.clock[1].step_ns == -3600 * second);
  CHECK(batch.clock[1].t_ns == 100 * ms);
}

}  // namespace foundling
