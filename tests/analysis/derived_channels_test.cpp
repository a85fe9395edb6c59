// What is made of the channels takes memory by what is there, not by the size of a number in it.
#include "decoder/analysis/derived_channels.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <vector>

namespace foundling {
namespace {

constexpr std::int64_t second = 1'000'000'000;

ChannelSeries charge_until(std::int64_t from_ns, std::int64_t end_ns) {
  Reading reading;
  reading.t_ns = from_ns;
  reading.value = 3.6;
  const std::vector<ChannelSeries> channels = {
      {{"pack_current", "A", ChannelKind::hold}, {reading}}};
  const auto derived = derive_channels(channels, end_ns);
  REQUIRE(derived.size() == 1);
  return derived[0];
}

TEST_CASE("charge is sampled every two seconds in a session of hours") {
  const ChannelSeries charge = charge_until(0, 3600 * second);
  REQUIRE(charge.readings.size() == 1800);
  CHECK(charge.readings[1].t_ns == 2 * second);
  CHECK(charge.readings[1000].value == doctest::Approx(2.0));  // 3.6 A for 2,000 s
}

TEST_CASE("charge has a bounded number of samples, however long the session says that it is") {
  for (const std::int64_t end : {100'000'000 * second, 1'700'000'000 * second, INT64_MAX}) {
    const ChannelSeries charge = charge_until(0, end);
    CHECK(charge.readings.size() > 16'000);
    CHECK(charge.readings.size() < 16'400);
  }
  CHECK(charge_until(INT64_MAX - second, INT64_MAX).readings.size() == 1);
}

}  // namespace
}  // namespace foundling
