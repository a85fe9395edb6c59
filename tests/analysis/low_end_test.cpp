// Where a field ends when its lowest bits rest as long as its channel does.
#include "decoder/analysis/low_end.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "decoder/analysis/correlate.h"
#include "decoder/analysis/stream.h"

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

// An invented board with 16 bits, the low byte first, that answers within a second; one plateau in
// eight was read before that, so its first frames are on their way over some hundred codes.
// Elsewhere the low byte never carries into the high one.
LowEnd end_of_settling_field(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> noise(0, 1.2);
  const Span field = *parse_span("2.7..1.0");
  MessageSeries m;
  m.id = CanId::standard(0x345);
  m.length = 4;
  CodedFrames frames;
  for (int p = 0; p < 40; ++p) {
    const double level =
        256.0 * static_cast<double>(110 + random() % 30) + 20 + static_cast<double>(random() % 200);
    double missing = p % 8 == 0 ? -300 : 0;
    for (int k = 0; k < 80; ++k) {
      frames.frame.push_back(m.t_ns.size());
      frames.x.push_back(level * 0.0001);
      frames.plateau.push_back(p);
      m.t_ns.push_back(static_cast<std::int64_t>(m.t_ns.size()) * second / 10);
      std::vector<std::uint8_t> bytes(4, 0);
      insert(field, static_cast<std::uint64_t>(std::lround(level + missing + noise(random))),
             bytes);
      m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
      missing *= 0.55;
    }
  }
  const std::vector<MessageSeries> messages{std::move(m)};
  const auto streams = make_streams(messages, Survey{{MessageSurvey{}}});
  return choose_low_end(streams.front(), frames, field.msb, ByteOrder::little, false);
}

}  // namespace

TEST_CASE("a field that is still on its way at some levels keeps its low byte") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    CHECK(to_string(end_of_settling_field(seed).span) == "2.7..1.0");
  }
}

TEST_CASE("bits that move only on the way from one level to the next are the field's") {
  const Correlation found = answer();
  REQUIRE(!found.proposals.empty());
  CHECK(found.proposals.front().place.span.lsb == BitPosition{2, 5});
  CHECK(found.proposals.front().scale == doctest::Approx(0.01));
}
