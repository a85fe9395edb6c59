// What a field's own lag may change in it.
#include "decoder/analysis/candidate.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "decoder/analysis/survey.h"

using namespace foundling;

namespace {

constexpr std::int64_t second = 1'000'000'000;

struct Bench {
  std::vector<MessageSeries> messages{MessageSeries{}};
  ChannelSeries channel{{"channel_a", "V"}, {}};
  std::int64_t end_ns = 0;
};

// An invented board: 12 bits, 2.3..3.0, whose top bit is set at two of fourteen levels.
Bench bench() {
  std::mt19937_64 random(3);
  Bench b;
  MessageSeries& m = b.messages[0];
  m.id = CanId::standard(0x234);
  m.length = 4;
  for (int p = 0; p < 14; ++p) {
    const std::int64_t start = p * 10 * second;
    const auto raw = random() % 2000 + (p == 5 || p == 9 ? 2048 : 0);
    b.channel.readings.push_back({start, static_cast<double>(raw) * 0.01, 0.001, ""});
    for (int k = 0; k < 100; ++k) {
      m.t_ns.push_back(start + second / 5 + k * second / 10);
      std::vector<std::uint8_t> bytes(4, 0);
      bytes[2] = static_cast<std::uint8_t>(random());  // its upper half is another's noise
      insert(*parse_span("2.3..3.0"), raw + random() % 2, bytes);
      m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
    }
    b.end_ns = start + 10 * second;
  }
  return b;
}

}  // namespace

TEST_CASE("a top bit that moves on rows read with the field's own lag is the field's") {
  const Bench b = bench();
  const std::vector<Stream> streams = make_streams(b.messages, survey(b.messages));
  Lag lag;
  lag.delay_s = 0.2;
  Candidate narrow;
  narrow.field.span = *parse_span("2.2..3.0");
  const Candidate own = with_own_lag(streams.at(0), b.channel, b.end_ns, narrow, lag);
  CHECK(to_string(own.field.span) == "2.3..3.0");
  CHECK(own.calibration.line.slope == doctest::Approx(0.01).epsilon(0.001));
  CHECK(own.calibration.levels.size() == 14);
}

namespace {

// An invented board whose current comes in whole amperes and whose power in 20 W. The voltage moves
// only while the current rests, at 13 A for most of the session.
Bench power_bench() {
  std::mt19937_64 random(5);
  Bench b;
  b.channel.channel = {"pack_current", "A"};
  MessageSeries& m = b.messages[0];
  m.id = CanId::standard(0x2C0);
  m.length = 6;
  std::int64_t start = 0;
  for (int p = 0; p < 18; ++p) {
    const bool rests = p == 0;
    const int amperes = rests ? 13 : static_cast<int>(random() % 140) - 50;
    b.channel.readings.push_back({start, static_cast<double>(amperes), 0.01, ""});
    const int seconds = rests ? 300 : 10;
    for (int k = 0; k < seconds * 10; ++k) {
      const double volts = rests ? 88 + 6 * std::sin(k * 0.01) : 89.6;
      m.t_ns.push_back(start + second / 5 + k * second / 10);
      std::vector<std::uint8_t> bytes(6, 0);
      bytes[2] = static_cast<std::uint8_t>(random());
      bytes[3] = static_cast<std::uint8_t>(random());
      insert(*parse_span("0.7..1.0"), static_cast<std::uint64_t>(500 + amperes), bytes);
      const auto power = static_cast<std::int64_t>(std::lround(amperes * volts / 20));
      insert(*parse_span("4.7..5.0"), static_cast<std::uint64_t>(power & 0xFFFF), bytes);
      m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
    }
    start += seconds * second;
    b.end_ns = start;
  }
  return b;
}

}  // namespace

TEST_CASE("a power that follows the current while the voltage rests does not stand in for it") {
  const Bench b = power_bench();
  const std::vector<Stream> streams = make_streams(b.messages, survey(b.messages));
  const RowSet rows = make_rows(b.channel, b.end_ns);
  const auto scored = [&](std::string_view span, Coding coding) {
    return complete(streams.at(0), 0, rows, second / 5, {*parse_span(span), coding});
  };
  const auto current = scored("0.7..1.0", Coding::natural);
  const auto power = scored("4.7..5.0", Coding::twos_complement);
  REQUIRE(current);
  REQUIRE(power);
  // Where the current is set, the finer numbers of the power lie nearer to the line.
  CHECK(power->calibration.line.slope == doctest::Approx(20 / 89.6).epsilon(0.01));
  CHECK(current->score > power->score);
}

TEST_CASE("a level at which the field is off costs its own bits and those of saying which it is") {
  Bench b = bench();
  MessageSeries& m = b.messages[0];
  m.length = 8;
  m.bytes.assign(m.t_ns.size() * 8, 0);
  for (std::size_t i = 0; i < m.t_ns.size(); ++i) {
    const std::size_t plateau = i / 100;
    const auto raw =
        static_cast<std::uint64_t>(std::lround(b.channel.readings[plateau].value * 100));
    const std::span bytes(m.bytes.data() + i * 8, 8);
    insert(*parse_span("0.7..1.0"), raw, bytes);
    insert(*parse_span("4.7..5.0"), plateau == 6 ? raw ^ 0x200U : raw, bytes);
  }
  const std::vector<Stream> streams = make_streams(b.messages, survey(b.messages));
  const RowSet rows = make_rows(b.channel, b.end_ns);
  const auto bits = [&](std::string_view span) {
    const auto c = complete(streams.at(0), 0, rows, second / 5, {*parse_span(span)});
    REQUIRE(c);
    REQUIRE(c->calibration.levels.size() == 14);
    return c->score + c->round.cost_bits;
  };
  const double right = bits("0.7..1.0");
  const double off = bits("4.7..5.0");
  // One of fourteen: log2(14), and each other level's word that it is none.
  CHECK(right - off > right / 14 + 3);
  CHECK(right - off < right / 14 + 8);
}
