// The board's frames: what is in them byte by byte, their order and timing, and determinism.
#include "tools/board/board.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <numeric>
#include <set>

#include "tools/board/checksums.h"
#include "tools/board/session.h"

namespace foundling::board {
namespace {

Inputs still_bench() {
  Inputs inputs;
  inputs[Input::pack_current] = -123.4;
  inputs[Input::pack_voltage] = 91.2;
  for (std::size_t i = 0; i < cell_count; ++i) inputs.cell(i) = 3.0 + 0.01 * static_cast<double>(i);
  for (std::size_t i = 0; i < temperature_count; ++i) {
    inputs.values[index(Input::first_temperature) + i] = 10.0 * static_cast<double>(i) - 20;
  }
  inputs[Input::coolant_temperature] = 31.5;
  inputs[Input::coolant_pressure] = 212.5;
  inputs[Input::supply_voltage] = 12.6;
  inputs[Input::interlock] = 1;
  inputs[Input::key_switch] = 2;
  inputs[Input::ambient] = 20;
  return inputs;
}

std::vector<Frame> run_still(int ticks, std::uint64_t run_seed = 1) {
  BoardOptions options;
  options.run_seed = run_seed;
  Board board(options);
  std::vector<Frame> frames;
  for (int i = 0; i < ticks; ++i) board.tick(still_bench(), frames);
  return frames;
}

std::vector<Frame> of(const std::vector<Frame>& frames, CanId id) {
  std::vector<Frame> some;
  std::copy_if(frames.begin(), frames.end(), std::back_inserter(some),
               [id](const Frame& frame) { return frame.id == id; });
  return some;
}

const std::vector<Frame>& settled() {  // four seconds; the self-test is over after two
  static const std::vector<Frame> frames = run_still(800);
  return frames;
}

double mean_of_second_half(const std::vector<Frame>& frames, double (*read)(const Frame&)) {
  double sum = 0;
  for (std::size_t i = frames.size() / 2; i < frames.size(); ++i) sum += read(frames[i]);
  return sum / static_cast<double>(frames.size() - frames.size() / 2);
}

}  // namespace

TEST_CASE("the fast message has current, voltage and power high byte first") {
  const auto frames = of(settled(), CanId::standard(0x1A4));
  CHECK(mean_of_second_half(frames, [](const Frame& f) {
          const int raw = f.payload[0] * 256 + f.payload[1];
          return 0.1 * (raw >= 32768 ? raw - 65536 : raw);
        }) == doctest::Approx(-123.4).epsilon(0.002));
  CHECK(mean_of_second_half(frames, [](const Frame& f) {
          return 0.1 * (f.payload[2] * 256 + f.payload[3]);
        }) == doctest::Approx(91.2).epsilon(0.002));
  CHECK(mean_of_second_half(frames, [](const Frame& f) {
          const int raw = f.payload[4] * 256 + f.payload[5];
          return 0.01 * (raw >= 32768 ? raw - 65536 : raw);
        }) == doctest::Approx(-123.4 * 91.2 / 1000).epsilon(0.004));
}

TEST_CASE("the cell message has three cells a page, low byte first, in millivolts") {
  std::set<int> pages;
  for (const Frame& frame : of(settled(), CanId::standard(0x1B0))) {
    const int page = frame.payload[0];
    pages.insert(page);
    if (frame.t_ns < 2'500'000'000) continue;
    for (int slot = 0; slot < 3; ++slot) {
      const auto at = static_cast<std::size_t>(1 + 2 * slot);
      const int raw = frame.payload[at] + 256 * frame.payload[at + 1];
      const int cell = page * 3 + slot;
      if (cell >= 28) {
        CHECK(raw == 0xFFFF);
      } else {
        CHECK(raw == doctest::Approx(3000 + 10 * cell).epsilon(0.002));
      }
    }
  }
  CHECK(pages == std::set<int>{0, 1, 2, 3, 4, 5, 6, 7, 8, 9});
}

TEST_CASE("temperatures, switches and the packed values are where the page says") {
  const Frame temperatures = of(settled(), CanId::standard(0x2C1)).back();
  for (std::size_t i = 0; i < 4; ++i) {
    const int tens = 20 + 10 * static_cast<int>(i);  // -20 °C and a step of 10, offset -40
    CHECK(std::abs(temperatures.payload[i] - tens) <= 2);
  }
  CHECK(std::abs(temperatures.payload[5] - 143) <= 3);  // (31.5 + 40) / 0.5
  const Frame state = of(settled(), CanId::standard(0x2D0)).back();
  CHECK((state.payload[0] & 0x07) == 0x01);
  CHECK((state.payload[0] >> 4 & 3) == 2);
  CHECK(state.payload[1] == 0x05);
  CHECK(std::abs((state.payload[3] | (state.payload[4] & 15) << 8) - 2520) <= 12);
  CHECK(std::abs((state.payload[4] >> 4 | state.payload[5] << 4) - 2125) <= 14);
}

TEST_CASE("the slow message has the current at 0.05 A a bit from -1600 A, low byte first") {
  const auto frames = of(settled(), CanId::extended(0x18FF50E5));
  CHECK(mean_of_second_half(frames, [](const Frame& f) {
          return 0.05 * (f.payload[0] + 256 * f.payload[1]) - 1600;
        }) == doctest::Approx(-123.4).epsilon(0.003));
}

TEST_CASE("raw codes take the scaling of published values") {
  // 0.05 A a bit from -1600 A: 7E54 is 17 A and 7D00 is 0 A, as RV-C table 5.3 and SAE J1939 scale
  // it.
  CHECK(to_raw(17, 0.05, -1600, 16) == 0x7E54);
  CHECK(to_raw(0, 0.05, -1600, 16) == 0x7D00);
  // 1 °C a bit from -40 °C: SAE J1939-71, engine coolant temperature, 130 is 90 °C.
  CHECK(to_raw(90, 1, -40, 8) == 130);
  CHECK(to_raw(1e9, 1, 0, 8) == 255);
  CHECK(to_raw(-1e9, 1, 0, 8) == 0);
  CHECK((to_raw(-0.1, 0.1, 0, 16, true) & 0xFFFF) == 0xFFFF);
}

TEST_CASE("counters and checksums hold in every frame") {
  std::map<CanId, int> expected;
  for (const Frame& f : settled()) {
    const std::span<const std::uint8_t> head(f.payload.data(), 7);
    const auto next = [&](int first, int modulus) {
      const auto known = expected.try_emplace(f.id, first).first;
      const int now = known->second;
      known->second = (now + 1) % modulus;
      return now;
    };
    if (f.id == CanId::standard(0x1A4)) {
      CHECK(f.payload[7] == crc8_j1850(head));
      CHECK((f.payload[6] & 15) == next(0, 16));
    } else if (f.id == CanId::standard(0x1B0)) {
      CHECK(f.payload[7] == xor8(head));
      CHECK(f.payload[0] == next(0, 10));
    } else if (f.id == CanId::standard(0x2D0)) {
      CHECK(f.payload[7] == sum8(head));
      CHECK((f.payload[6] & 15) == next(0, 15));
    } else if (f.id == CanId::standard(0x080)) {
      CHECK(f.payload[0] == next(0, 256));
    }
  }
}

TEST_CASE("until its self-test is over the board says not available") {
  const auto& frames = settled();
  CHECK(of(frames, CanId::standard(0x1A4)).front().t_ns > 1'800'000'000);
  const Frame cells = of(frames, CanId::standard(0x1B0)).front();
  CHECK(std::all_of(cells.payload.begin() + 1, cells.payload.begin() + 7,
                    [](std::uint8_t byte) { return byte == 0xFF; }));
  CHECK(of(frames, CanId::standard(0x2C1)).front().payload[0] == 0xFF);
  CHECK(of(frames, CanId::extended(0x18FF50E5)).front().payload[1] == 0xFF);
}

TEST_CASE("frames are in order, never two at a time on the bus, and classical") {
  const auto session = run_session(session_options(1, true));
  REQUIRE(!session.frames.empty());
  std::int64_t before = -1'000'000;
  for (const Frame& frame : session.frames) {
    CHECK(frame.length <= 8);
    CHECK(frame.flags == 0);
    CHECK(frame.t_ns % 1000 == 0);
    // The shortest frame, no payload and no stuff bits: 47 bits at 500 kbit/s (Davis et al.,
    // Real-Time Systems 35 (2007) 239).
    CHECK(frame.t_ns - before >= (47 + 8 * frame.length) * 2000);
    before = frame.t_ns;
  }
}

TEST_CASE("periods are as stated, with some jitter") {
  const auto frames = of(run_still(4000), CanId::standard(0x1B0));
  std::vector<std::int64_t> gaps;
  for (std::size_t i = 1; i < frames.size(); ++i) {
    gaps.push_back(frames[i].t_ns - frames[i - 1].t_ns);
  }
  std::sort(gaps.begin(), gaps.end());
  CHECK(gaps[gaps.size() / 2] == doctest::Approx(10e6).epsilon(0.02));
  CHECK(gaps.back() > gaps.front() + 100'000);
}

TEST_CASE("the same seeds give the same frames, other seeds others") {
  const auto same = [](const std::vector<Frame>& a, const std::vector<Frame>& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const Frame& x, const Frame& y) {
      return x.t_ns == y.t_ns && x.id == y.id && x.length == y.length && x.payload == y.payload;
    });
  };
  CHECK(same(run_still(1000), run_still(1000)));
  CHECK_FALSE(same(run_still(1000), run_still(1000, 2)));
}

TEST_CASE("the board counts the charge that flows through the shunt") {
  // 123.4 A out of the pack for 30 s: 1.028 Ah.
  const auto frames = of(run_still(8000), CanId::extended(0x18FF50E5));
  const auto charge = [](const Frame& f) {
    return 0.001 * (f.payload[2] + 256.0 * f.payload[3] + 65536.0 * f.payload[4]);
  };
  const Frame& first = frames[50];
  const Frame& last = frames[350];
  const double hours = static_cast<double>(last.t_ns - first.t_ns) * 1e-9 / 3600;
  CHECK(charge(first) - charge(last) == doctest::Approx(123.4 * hours).epsilon(0.004));
}

}  // namespace foundling::board
