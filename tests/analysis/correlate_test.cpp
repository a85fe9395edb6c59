#include "decoder/analysis/correlate.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <string>

using namespace foundling;

namespace {

constexpr std::int64_t second = 1'000'000'000;

// A bench of two channels and one message: 0.1 A signed big-endian in bytes 0..1, 1 mV
// little-endian in bytes 2..3, a slow drift in byte 4. All invented.
struct Bench {
  std::vector<MessageSeries> messages{MessageSeries{}};
  std::vector<ChannelSeries> channels{{{"pack_current", "A", ChannelKind::hold}, {}},
                                      {{"cell_01", "V", ChannelKind::hold}, {}}};
  std::int64_t end_ns = 0;
};

struct Wishes {
  int plateaus = 30;
  bool together = false;  // both channels step by one rule
  bool mirrored = false;  // bytes of the message in reverse order
  std::int64_t origin_ns = 0;
  int levels = 30;
};

Bench bench(std::uint64_t seed, const Wishes& wishes = {}) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> noise(0, 1);
  Bench b;
  MessageSeries& m = b.messages[0];
  m.id = CanId::standard(0x1A4);
  m.length = 5;
  double drift = 100;
  for (int p = 0; p < wishes.plateaus; ++p) {
    const std::int64_t start = wishes.origin_ns + p * 4 * second;
    const double share = static_cast<double>(random() % static_cast<unsigned>(wishes.levels)) /
                         (wishes.levels - 1.0);
    const double other = static_cast<double>(random() % 1000) / 999;
    const double current = std::round((share * 120 - 50) * 10) / 10;
    const double volts = 2.6 + (wishes.together ? share : other);
    b.channels[0].readings.push_back({start, current, 0.01, ""});
    b.channels[1].readings.push_back({start, volts, 0.0002, ""});
    for (int k = 0; k < 80; ++k) {
      m.t_ns.push_back(start + k * second / 20);
      drift += 0.05 * noise(random);
      std::array<std::uint8_t, 5> bytes{};
      insert({{0, 7}, {1, 0}},
             static_cast<std::uint64_t>(std::llround(current / 0.1 + 0.6 * noise(random))), bytes);
      insert({{3, 7}, {2, 0}},
             static_cast<std::uint64_t>(std::llround(volts / 0.001 + 0.6 * noise(random))), bytes);
      bytes[4] = static_cast<std::uint8_t>(std::llround(drift));
      if (wishes.mirrored) std::reverse(bytes.begin(), bytes.end());
      m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
    }
    b.end_ns = start + 4 * second;
  }
  return b;
}

Correlation answer(const Bench& b) { return correlate(b.messages, b.channels, survey(b.messages)); }

const Proposal* first(const Correlation& c, const std::string& channel) {
  for (const Proposal& p : c.proposals) {
    if (p.channel == channel && p.rank == 1 && !p.derived) return &p;
  }
  return nullptr;
}

void check_planted(const Correlation& c) {
  const Proposal* current = first(c, "pack_current");
  REQUIRE(current != nullptr);
  CHECK(to_string(current->place.span) == "0.7..1.0");
  CHECK(current->is_signed);
  CHECK(current->scale == 0.1);
  CHECK(current->offset == 0);
  CHECK(current->verdict == Verdict::strong);
  const Proposal* cell = first(c, "cell_01");
  REQUIRE(cell != nullptr);
  CHECK(to_string(cell->place.span) == "3.7..2.0");
  CHECK_FALSE(cell->is_signed);
  CHECK(cell->scale == 0.001);
  CHECK(cell->untested_high_bits == 5);  // 2048 mV and above: bit 11 was always set
}

}  // namespace

TEST_CASE("planted fields come back with exact span, sign, scale and offset") {
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    CAPTURE(seed);
    check_planted(answer(bench(seed)));
  }
}

TEST_CASE("the time origin does not matter") {
  Wishes wishes;
  wishes.origin_ns = 1'000'000 * second;
  check_planted(answer(bench(2, wishes)));
}

TEST_CASE("mirrored bytes turn big-endian into little-endian and nothing else") {
  Wishes wishes;
  wishes.mirrored = true;
  const Correlation c = answer(bench(3, wishes));
  const Proposal* current = first(c, "pack_current");
  REQUIRE(current != nullptr);
  CHECK(to_string(current->place.span) == "4.7..3.0");
  CHECK(current->is_signed);
  const Proposal* cell = first(c, "cell_01");
  REQUIRE(cell != nullptr);
  CHECK(to_string(cell->place.span) == "1.7..2.0");
}

TEST_CASE("a change of unit changes the scale and nothing else") {
  Bench b = bench(4);
  b.channels[0].channel.unit = "mA";
  for (Reading& r : b.channels[0].readings) {
    r.value *= 1000;
    r.uncertainty *= 1000;
  }
  const Correlation c = answer(b);
  const Proposal* current = first(c, "pack_current");
  REQUIRE(current != nullptr);
  CHECK(to_string(current->place.span) == "0.7..1.0");
  CHECK(current->scale == 100);
}

TEST_CASE("a channel that the board does not send is answered by silence") {
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    CAPTURE(seed);
    Bench b = bench(seed);
    std::mt19937_64 random(seed + 100);
    b.channels.push_back(b.channels[0]);
    b.channels.back().channel.name = "unknown";
    for (Reading& r : b.channels.back().readings) r.value = static_cast<double>(random() % 1000);
    CHECK(first(answer(b), "unknown") == nullptr);
  }
}

TEST_CASE("channels that moved together are called ambiguous, with a step that separates them") {
  Wishes wishes;
  wishes.together = true;
  const Correlation c = answer(bench(5, wishes));
  const Proposal* current = first(c, "pack_current");
  REQUIRE(current != nullptr);
  CHECK(current->verdict == Verdict::ambiguous);
  CHECK(current->ambiguous_with == std::vector<std::string>{"cell_01"});
  const bool advised = std::any_of(c.advice.begin(), c.advice.end(), [](const std::string& a) {
    return a.find("always moved together") != std::string::npos;
  });
  CHECK(advised);
}

TEST_CASE("too few levels are named in words") {
  Wishes wishes;
  wishes.levels = 2;
  const Correlation c = answer(bench(6, wishes));
  CHECK(first(c, "pack_current") == nullptr);
  const bool named = std::any_of(c.advice.begin(), c.advice.end(), [](const std::string& a) {
    return a.find("pack_current only had 2 levels; at least 5 needed") == 0;
  });
  CHECK(named);
}

TEST_CASE("intervals hold the planted scale in about 95 of 100 cases") {
  int held = 0;
  int all = 0;
  for (std::uint64_t seed = 200; seed < 230; ++seed) {
    const Correlation c = answer(bench(seed));
    for (const auto& [channel, truth] : {std::pair{"pack_current", 0.1}, {"cell_01", 0.001}}) {
      const Proposal* p = first(c, channel);
      REQUIRE(p != nullptr);
      ++all;
      if (p->scale_interval.low <= truth && truth <= p->scale_interval.high) ++held;
    }
  }
  // 60 draws: 95 % gives 57 with a standard deviation of 1.7.
  CHECK(all == 60);
  CHECK(held >= 52);
}
