#include "daemon/time_line.h"

#include <doctest/doctest.h>

#include <initializer_list>
#include <random>

#include "tests/daemon/fake_clock.h"

namespace foundling {

TEST_CASE("a stamp lies on the line by its distance from the start") {
  FakeClock clock;
  TimeLine line(clock.pair.boot_ns, clock.pair);
  const std::int64_t stamp = clock.pair.wall_ns + 30 * ms;
  clock.pass(50 * ms);
  CHECK_FALSE(line.look(clock.now()));
  CHECK(line.place(stamp, 0) == 30 * ms);
}

TEST_CASE("an hour's step of the wall clock, either way, does not touch the line") {
  for (const std::int64_t step : {3600 * second, -3600 * second}) {
    CAPTURE(step);
    FakeClock clock;
    TimeLine line(clock.pair.boot_ns, clock.pair);
    clock.pass(1 * second);
    CHECK_FALSE(line.look(clock.now()));

    clock.pass(10 * ms);
    const std::int64_t before = clock.pair.wall_ns;  // stamped, still queued
    clock.pass(5 * ms);
    clock.set_wall_by(step);
    clock.pass(5 * ms);
    const std::int64_t after = clock.pair.wall_ns;
    clock.pass(10 * ms);

    const auto mark = line.look(clock.now());
    REQUIRE(mark);
    CHECK(mark->step_ns == step);
    CHECK(mark->t_ns == 1030 * ms);
    CHECK(mark->wall_ns == clock.pair.wall_ns);
    CHECK(line.place(before, 0) == 1010 * ms);
    CHECK(line.place(after, 0) == 1020 * ms);
    CHECK_FALSE(line.look(clock.now()));
  }
}

TEST_CASE("a step smaller than the time between looks is resolved by where the stamp can lie") {
  FakeClock clock;
  TimeLine line(clock.pair.boot_ns, clock.pair);
  clock.pass(500 * ms);
  CHECK_FALSE(line.look(clock.now()));
  const std::int64_t early = clock.pair.wall_ns + 1 * ms;
  clock.pass(2 * ms);
  clock.set_wall_by(100 * ms);
  clock.pass(1 * ms);
  const auto mark = line.look(clock.now());
  REQUIRE(mark);
  CHECK(mark->step_ns == 100 * ms);
  CHECK(line.place(early, 0) == 501 * ms);  // by the new difference it would be at 401 ms
}

TEST_CASE("jitter of reading two clocks is no step") {
  FakeClock clock;
  TimeLine line(clock.pair.boot_ns, clock.pair);
  for (const std::int64_t jitter : {3'000, -4'000, 9'000, -9'000}) {
    clock.pass(100 * ms);
    ClockPair look = clock.now();
    look.wall_ns += jitter;
    look.doubt_ns = 10'000;
    CHECK_FALSE(line.look(look));
  }
}

TEST_CASE("times never run backwards and never lie in the future") {
  FakeClock clock;
  TimeLine line(clock.pair.boot_ns, clock.pair);
  clock.pass(100 * ms);
  CHECK_FALSE(line.look(clock.now()));
  CHECK(line.place(clock.pair.wall_ns - 20 * ms, 90 * ms) == 90 * ms);
  CHECK(line.place(clock.pair.wall_ns + 20 * ms, 0) == 100 * ms);
  CHECK(line.place(0, 0) == 100 * ms);  // a frame without a stamp came just now
}

TEST_CASE("through many random steps every stamp keeps its true time") {
  const unsigned seed = 20260;
  CAPTURE(seed);
  std::mt19937_64 dice(seed);
  FakeClock clock;
  const std::int64_t origin = clock.pair.boot_ns;
  TimeLine line(origin, clock.pair);
  for (int round = 0; round < 2000; ++round) {
    clock.pass(static_cast<std::int64_t>(dice() % 100) * ms);
    const std::int64_t stamp = clock.pair.wall_ns;
    const std::int64_t truth = clock.pair.boot_ns - origin;
    if (dice() % 3 == 0) {
      const auto size = static_cast<std::int64_t>(dice() % (7200 * second)) + 200 * ms;
      clock.set_wall_by(dice() % 2 == 0 ? size : -size);
    }
    clock.pass(static_cast<std::int64_t>(dice() % 20) * ms);
    line.look(clock.now());
    CAPTURE(round);
    CHECK(std::abs(line.place(stamp, 0) - truth) <= 10'000);
  }
}

}  // namespace foundling
