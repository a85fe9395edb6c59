// Where a field ends when its lowest bits rest as long as its channel does.
#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "decoder/analysis/correlate.h"

using namespace foundling;

namespace {

constexpr std::int64_t second = 1'000'000'000;

// An invented board without noise: a field of 11 bits that ends at 2.5 follows its channel with a
// time constant of 0.3 s, and every setting is a multiple of four codes.
Correlation answer() {
  std::mt19937_64 random(5);
  const Span field = *parse_span("1.7..2.5");
  MessageSeries m;
  m.id = CanId::standard(0x345);
  m.length = 4;
  ChannelSeries channel{{"channel_a", "V"}, {}};
  double shown = 0;
  for (int p = 0; p < 40; ++p) {
    const auto start = static_cast<std::int64_t>(p) * 6 * second;
    const auto raw = 4 * (5 + random() % 500);
    channel.readings.push_back({start, static_cast<double>(raw) * 0.01, 0.0001, ""});
    for (int k = 0; k < 60; ++k) {
      m.t_ns.push_back(start + k * second / 10);
      shown += (static_cast<double>(raw) - shown) * (1 - std::exp(-0.1 / 0.3));
      std::vector<std::uint8_t> bytes(4, 0);
      insert(field, static_cast<std::uint64_t>(std::lround(shown)), bytes);
      m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
    }
  }
  const std::vector<MessageSeries> messages{std::move(m)};
  const std::vector<ChannelSeries> channels{std::move(channel)};
  return correlate(messages, channels, survey(messages));
}

}  // namespace

TEST_CASE("bits that move only on the way from one level to the next are the field's") {
  const Correlation found = answer();
  REQUIRE(!found.proposals.empty());
  CHECK(found.proposals.front().place.span.lsb == BitPosition{2, 5});
  CHECK(found.proposals.front().scale == doctest::Approx(0.01));
}
