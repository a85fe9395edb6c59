// A board of which nothing is heard: what a meter's figures are taken for. Levels: ISO 11898-2
// (recessive 2.0 to 3.0 V on each wire, dominant nominally 3.5 and 1.5 V, without bias near 0 V).
#include "tools/bus/silent_board.h"

#include <doctest/doctest.h>

#include <cmath>

#include "schemas/capture/capture_writer.h"
#include "tests/must.h"
#include "tests/tools/bench_files.h"

namespace foundling {
namespace {

// What a slow meter shows of a pair that is dominant for a share of the time.
PairState at_load(double share, bool swapped) {
  const double high = 2.5 + share * 1.0, low = 2.5 - share * 1.0;
  return swapped ? pair_state(low, high) : pair_state(high, low);
}

}  // namespace

TEST_CASE("a pair's two voltages say whether it rests, sleeps, talks, is swapped or held") {
  CHECK(pair_state(2.5, 2.5) == PairState::idle);
  CHECK(pair_state(2.31, 2.33) == PairState::idle);
  CHECK(pair_state(0.02, 0.01) == PairState::asleep);
  CHECK(pair_state(3.5, 1.5) == PairState::held);
  CHECK(pair_state(12.3, 0.1) == PairState::faulty);
  CHECK(pair_state(2.5, 0.0) == PairState::faulty);
  CHECK(pair_state(5.0, 5.0) == PairState::faulty);
  for (const double load : {0.04, 0.1, 0.3}) {
    CHECK(at_load(load, false) == PairState::talking);
    CHECK(at_load(load, true) == PairState::swapped);
  }
}

TEST_CASE("a supply's current says whether the board has none, sleeps, works or resets") {
  CHECK(supply_state({0, 0.0001, {}}, {}) == SupplyState::nothing);
  CHECK(supply_state({0.001, 0.002, {}}, {}) == SupplyState::asleep);
  CHECK(supply_state({0.08, 0.09, {}}, {}) == SupplyState::awake);
  CHECK(supply_state({0.002, 0.085, {}}, {}) == SupplyState::swinging);
  CHECK(supply_state({0.002, 0.099, {}}, 0.1) == SupplyState::at_limit);
  CHECK(supply_state({0.08, 0.09, {}}, 0.5) == SupplyState::awake);
}

TEST_CASE("a board that resets every three seconds is told by its current's swings") {
  std::vector<TimedCurrent> readings;
  for (int i = 0; i < 200; ++i) {
    const double within = std::fmod(i * 0.1, 3.0);
    readings.push_back({i * 100'000'000LL, within < 1 ? 0.08 + 0.001 * (i % 3) : 0.003});
  }
  const auto found = supply_current(readings);
  REQUIRE(found);
  REQUIRE(found->period_s);
  CHECK(*found->period_s == doctest::Approx(3).epsilon(0.02));
  CHECK(supply_state(*found, {}) == SupplyState::swinging);
  CHECK_FALSE(supply_current({}));
  readings.resize(25);  // one swing alone has no period
  CHECK_FALSE(supply_current(readings)->period_s);
}

TEST_CASE("what was not measured is asked for, and what was leads to its own steps") {
  const std::string nothing = explain_silence({});
  CHECK(has(nothing, "1. Read the supply's current"));
  CHECK(has(nothing, "2. With power on, measure both wires"));
  CHECK(has(nothing, "3. With power off, measure between"));
  const std::string asleep = explain_silence({SupplyCurrent{0.002, 0.002, {}}, {}, 0.0, 0.0, 60.0});
  CHECK(has(asleep, "2 mA: the board sleeps."));
  CHECK(has(asleep, "wake-up line"));
  CHECK_FALSE(has(asleep, "Read the supply's current"));
  const std::string resets =
      explain_silence({SupplyCurrent{0.002, 0.085, 3.0}, {}, 2.5, 2.5, 120.0});
  CHECK(has(resets, "every 3 s"));
  CHECK(has(resets, "divider chain"));
  CHECK(has(resets, "--acknowledge"));
  const std::string swapped = explain_silence({SupplyCurrent{0.08, 0.08, {}}, {}, 2.4, 2.6, 60.0});
  CHECK(has(swapped, "high and low are swapped"));
  CHECK(has(swapped, "1. Exchange the two wires"));
  for (const std::string& text : {nothing, asleep, resets, swapped}) {
    for (std::size_t at = 0, end = 0; at < text.size(); at = end + 1) {
      end = text.find('\n', at);
      CHECK(end - at <= 80);
    }
  }
}

TEST_CASE("bus silent takes typed figures or an instrument's, and refuses what is none") {
  BenchFolder bench;
  auto ran = bench.run("bus silent --current 2mA..85mA --high 0.02 --low 0.01 --between 120");
  CHECK(ran.status == 0);
  CHECK(has(ran.out, "Supply current 2 to 85 mA: the board starts and stops again"));
  CHECK(has(ran.out, "120 ohm: one end is terminated"));
  {
    auto writer = must(CaptureWriter::create(bench.folder / "a.capture"));
    const auto session = must(writer.begin_session({}));
    const auto channel = must(writer.ensure_channel({"supply", "mA", ChannelKind::sample}));
    for (int i = 0; i < 40; ++i) {
      Reading reading;
      reading.t_ns = i * 500'000'000LL;
      reading.value = i % 8 < 3 ? 80 : 2;
      (void)must(writer.add_reading(session, channel, reading));
    }
    (void)must(writer.ensure_channel({"pack", "V", ChannelKind::sample}));
    must(writer.close());
  }
  ran = bench.run("bus silent --capture a.capture --channel supply");
  CHECK(ran.status == 0);
  CHECK(has(ran.out, "Supply current 2 to 80 mA: the board starts and stops again, every 4 s."));
  const auto refusal = [&](const std::string& words) {
    const auto refused = bench.run("bus silent " + words);
    CHECK(refused.status == 2);
    CHECK(refused.out.empty());
    return refused.err;
  };
  CHECK(has(refusal("--current 85mA..2mA"), "the range \"85mA..2mA\" goes down"));
  CHECK(
      has(refusal("--current much"), "expected a current like 85mA or 2mA..85mA, found \"much\""));
  CHECK(has(refusal("--capture a.capture --channel pack"), "no reading of channel \"pack\""));
  CHECK(has(refusal("--high 2.5"), "--low"));
  CHECK(has(refusal("--capture none.capture --channel supply"), "none.capture"));
}

}  // namespace foundling
