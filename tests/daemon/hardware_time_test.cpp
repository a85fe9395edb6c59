#include "daemon/hardware_time.h"

#include <doctest/doctest.h>

#include <random>

namespace foundling {
namespace {

constexpr std::int64_t us = 1'000;
constexpr std::int64_t second = 1'000'000'000;

}  // namespace

TEST_CASE(
    "jitter between wire and kernel is taken out, the adapter's own epoch and drift do not "
    "matter") {
  // Invented: an adapter clock that starts at 5 s, is 80 ppm fast, and a USB delay of 200 µs plus
  // up to 900 µs.
  HardwareTime time;
  std::mt19937_64 dice(1);
  std::int64_t worst = 0;
  for (int i = 0; i < 20'000; ++i) {
    const std::int64_t wire = 100 * second + i * 1'000 * us;
    const std::int64_t hardware = 5 * second + (wire - 100 * second) / 12'500 * 12'501;
    const std::int64_t kernel = wire + 200 * us + static_cast<std::int64_t>(dice() % (900 * us));
    const std::int64_t placed = time.place(hardware, kernel);
    CHECK(placed <= kernel);
    if (i >= 1000) worst = std::max(worst, std::abs(placed - wire - 200 * us));
  }
  // Two windows of a second at 80 ppm, and what the smallest of a thousand delays leaves.
  CHECK(worst < 2 * 80 * us + 20 * us);
}

TEST_CASE("an adapter that was reset begins anew") {
  HardwareTime time;
  CHECK(time.place(70 * second, 10 * second) == 10 * second);
  CHECK(time.place(71 * second, 11 * second + 300) == 11 * second);
  CHECK(time.place(1 * second, 12 * second) == 12 * second);
  CHECK(time.place(2 * second, 13 * second + 500) == 13 * second);
}

}  // namespace foundling
