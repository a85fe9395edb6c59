// A planted board: its gain, zero and delay are known, so the check's figures can be held against
// them.
#include "decoder/decode/check.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string>
#include <vector>

using namespace foundling;

namespace {

constexpr std::int64_t second = 1'000'000'000;

struct Planted {
  double gain = 1;
  double bias = 0;
  double delay_s = 0.1;
  double scale = 0.01;
};

SignalMap map_of(const Planted& planted) {
  SignalMap map;
  MessageEntry message;
  message.id = CanId::standard(0x1A4);
  SignalEntry entry;
  entry.name = std::string("pack_current");
  entry.span = *parse_span("0.7..1.0");
  entry.encoding = Encoding::signed_integer;
  entry.scale = planted.scale;
  entry.unit = std::string("A");
  message.signals.push_back(entry);
  entry.name = std::string("relay");
  entry.span = *parse_span("2.0");
  entry.scale = 1;
  entry.unit.clear();
  entry.encoding = Encoding::unsigned_integer;
  entry.states = {{0, "open"}, {1, "closed"}};
  message.signals.push_back(entry);
  map.messages.push_back(message);
  return map;
}

double bench_value(const ChannelSeries& channel, double t_s) {
  double value = channel.readings.front().value;
  for (const Reading& reading : channel.readings) {
    if (static_cast<double>(reading.t_ns) / 1e9 <= t_s) value = reading.value;
  }
  return value;
}

// A frame every 20 ms for 60 s with what `truth` has at that time, less the delay.
template <typename Truth>
MessageSeries frames_of(const Planted& planted, const Truth& truth) {
  MessageSeries message;
  message.id = CanId::standard(0x1A4);
  message.length = 8;
  for (int i = 0; i < 3000; ++i) {
    const double t_s = 0.02 * i + 0.003;
    const double value = planted.gain * truth(t_s - planted.delay_s) + planted.bias;
    const auto raw = static_cast<std::int64_t>(std::llround(value / planted.scale));
    std::vector<std::uint8_t> payload(8, 0);
    insert(*parse_span("0.7..1.0"), static_cast<std::uint64_t>(raw), payload);
    payload[2] = t_s > 30.2 ? 1 : 0;
    message.t_ns.push_back(static_cast<std::int64_t>(t_s * 1e9));
    message.bytes.insert(message.bytes.end(), payload.begin(), payload.end());
  }
  return message;
}

ChannelSeries hold_channel() {
  ChannelSeries channel{{"pack_current", "A", ChannelKind::hold}, {}};
  for (int i = 0; i < 20; ++i) {
    const double level = static_cast<double>((i * 7) % 20) * 10 - 95;
    channel.readings.push_back({i * 3 * second, level, 0.01, {}});
  }
  return channel;
}

SignalCheck checked(const Planted& planted, const MessageSeries& message,
                    const ChannelSeries& channel, const CheckOptions& options = {}) {
  const MapCheck check =
      check_map(map_of(planted), std::vector{message}, std::vector{channel}, options);
  REQUIRE(check.signals.size() == 1);
  return check.signals[0];
}

}  // namespace

TEST_CASE("the planted gain, zero error and delay of a held channel are found") {
  const Planted planted{1.002, 0.05, 0.25, 0.01};
  const ChannelSeries channel = hold_channel();
  const SignalCheck check = checked(
      planted, frames_of(planted, [&](double t) { return bench_value(channel, t); }), channel);
  CHECK(check.samples == 20);
  CHECK(check.gain == doctest::Approx(1.002).epsilon(0.0001));
  CHECK(check.bias == doctest::Approx(0.05).epsilon(0.05));
  CHECK(check.delay_s == doctest::Approx(0.25).epsilon(0.1));
  // 0.5 % of 95 A, two steps of 0.01 A, twice 0.01 A: by the rule in check.h.
  CHECK(check.tolerance == doctest::Approx(0.005 * 95 + 0.02 + 0.02));
  CHECK(check.largest == doctest::Approx(0.05 + 0.002 * 95).epsilon(0.1));
  CHECK(check.pass);
}

TEST_CASE("a wrong scale fails, and says by how much") {
  const Planted planted{1.02, 0, 0.1, 0.01};
  const ChannelSeries channel = hold_channel();
  const MessageSeries message =
      frames_of(planted, [&](double t) { return bench_value(channel, t); });
  const SignalCheck check = checked(planted, message, channel);
  CHECK_FALSE(check.pass);
  CHECK(check.gain == doctest::Approx(1.02).epsilon(0.0001));
  CHECK(check.reason == "the largest error is beyond the tolerance");
  CheckOptions generous;
  generous.absolute = [](const std::string&) { return std::optional<double>(5); };
  CHECK(checked(planted, message, channel, generous).pass);
}

TEST_CASE("a sampled channel is judged at the delay that fits, found to a few milliseconds") {
  const Planted planted{1.001, -0.02, 0.73, 0.01};
  const auto truth = [](double t) { return 40 * std::sin(t / 3) + 10 * std::sin(t * 1.7); };
  ChannelSeries channel{{"pack_current", "A", ChannelKind::sample}, {}};
  for (int i = 0; i < 100; ++i) {
    const double t = 0.5 * i + 2;
    channel.readings.push_back({static_cast<std::int64_t>(t * 1e9), truth(t), 0.01, {}});
  }
  const SignalCheck check = checked(planted, frames_of(planted, truth), channel);
  CHECK(check.samples == 100);
  CHECK(std::abs(check.delay_s - 0.73) < 0.005);
  CHECK(check.gain == doctest::Approx(1.001).epsilon(0.0005));
  CHECK(check.bias == doctest::Approx(-0.02).epsilon(0.2));
  CHECK(check.pass);
}

TEST_CASE("too few readings never pass, and that is said") {
  const Planted planted;
  ChannelSeries channel = hold_channel();
  const MessageSeries message =
      frames_of(planted, [&](double t) { return bench_value(channel, t); });
  channel.readings.resize(1);
  const SignalCheck one = checked(planted, message, channel);
  CHECK_FALSE(one.pass);
  CHECK(one.reason == "1 plateaus; at least 5 needed");
  CHECK(std::isnan(one.gain));
  channel.channel.unit = std::string("mA");
  CHECK(checked(planted, message, channel).reason == "the signal is in 'A', the channel in 'mA'");
}

TEST_CASE("a state is judged by its word") {
  const Planted planted;
  const MessageSeries message = frames_of(planted, [](double) { return 0.0; });
  ChannelSeries channel{{"relay", "state", ChannelKind::hold}, {}};
  for (int i = 0; i < 6; ++i) {
    channel.readings.push_back({i * 10 * second, 0, NAN, i < 3 ? "open" : "closed"});
  }
  CheckOptions two;
  two.fewest = 2;
  const SignalCheck right = checked(planted, message, channel, two);
  CHECK(right.pass);
  CHECK(right.delay_s == doctest::Approx(0.2).epsilon(0.15));
  channel.readings[3].state = std::string("open");  // written down ten seconds late
  channel.readings[5].state = std::string("open");
  const SignalCheck wrong = checked(planted, message, channel, two);
  CHECK_FALSE(wrong.pass);
  CHECK(wrong.reason == "a state was wrong");
}

TEST_CASE("what has no partner is listed, and a series meets its channels by number") {
  Planted planted;
  SignalMap map = map_of(planted);
  map.messages[0].signals[0].name = std::string("cell");
  map.messages[0].signals[0].numbers = Numbering{1, 2, 2};
  map.messages[0].signals[0].step = SpanStep{{.from = 1, .times = 24}, false};
  ChannelSeries cell = hold_channel();
  cell.channel.name = std::string("cell_2");
  ChannelSeries other = hold_channel();
  other.channel.name = std::string("ambient");
  const MapCheck check = check_map(map, {}, std::vector{cell, other});
  REQUIRE(check.signals.size() == 1);
  CHECK(check.signals[0].signal == "cell_02");
  CHECK(check.signals[0].reason == "no frame of the session has a value of it");
  CHECK(check.signals_unchecked == std::vector<std::string>{"cell_01", "relay"});
  CHECK(check.channels_unchecked == std::vector<std::string>{"ambient"});
}
