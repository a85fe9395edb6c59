// What the ends of a board's other fields say about where a field may end.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <string>

#include "decoder/analysis/correlate.h"

using namespace foundling;

namespace {

constexpr std::int64_t second = 1'000'000'000;

// An invented board: fields of the given spans, each with its channel, moved in turn, a code of
// noise; the last byte is tossed in every frame.
Correlation answer_for(const std::array<const char*, 4>& spans) {
  std::mt19937_64 random(9);
  std::normal_distribution<double> noise(0, 1);
  MessageSeries m;
  m.id = CanId::standard(0x345);
  m.length = 8;
  std::vector<ChannelSeries> channels;
  std::array<double, 4> raw{};
  for (std::size_t c = 0; c < spans.size(); ++c) {
    channels.push_back({{std::string("channel_") + static_cast<char>('a' + c), "V"}, {}});
  }
  for (std::size_t p = 0; p < 80; ++p) {
    const auto start = static_cast<std::int64_t>(p) * 6 * second;
    for (std::size_t c = 0; c < spans.size(); ++c) {
      if (p != 0 && p % spans.size() != c) continue;
      const int width = parse_span(spans[c])->width();
      raw[c] = 20 + static_cast<double>(random() % ((std::uint64_t{1} << width) - 40));
      channels[c].readings.push_back({start, raw[c] * 0.01, 0.0001, ""});
    }
    for (int k = 0; k < 60; ++k) {
      m.t_ns.push_back(start + k * second / 10);
      std::vector<std::uint8_t> bytes(8, 0);
      for (std::size_t c = 0; c < spans.size(); ++c) {
        insert(*parse_span(spans[c]),
               static_cast<std::uint64_t>(std::lround(raw[c] + noise(random))), bytes);
      }
      bytes[7] = static_cast<std::uint8_t>(random());
      m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
    }
  }
  const std::vector<MessageSeries> messages{std::move(m)};
  return correlate(messages, channels, survey(messages));
}

const Proposal& last_of(const Correlation& c) {
  const auto own = std::find_if(c.proposals.begin(), c.proposals.end(),
                                [](const Proposal& p) { return p.channel == "channel_d"; });
  REQUIRE(own != c.proposals.end());
  return *own;
}

}  // namespace

TEST_CASE("above restless bits a field's end is sure where the board keeps to bytes") {
  const Correlation c = answer_for({"0.7..1.0", "2.7..3.0", "4.7..4.0", "5.7..6.0"});
  CHECK(to_string(last_of(c).place.span) == "5.7..6.0");
  CHECK(last_of(c).verdict == Verdict::strong);
}

TEST_CASE("where the board's fields end anywhere, it may reach further down, and is called weak") {
  const Correlation c = answer_for({"0.7..1.5", "1.4..2.3", "2.2..3.1", "5.7..6.0"});
  for (const Proposal& p : c.proposals) {
    CAPTURE(p.channel);
    if (p.channel != "channel_d") CHECK(p.place.span.lsb.bit % 4 != 0);
  }
  CHECK(to_string(last_of(c).place.span) == "5.7..6.0");
  CHECK(last_of(c).verdict == Verdict::weak);
  CHECK(last_of(c).note.find("may reach further down") != std::string::npos);
}
