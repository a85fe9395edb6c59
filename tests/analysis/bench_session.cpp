#include "tests/analysis/bench_session.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

namespace foundling::test {
namespace {

constexpr std::int64_t second = 1'000'000'000;
constexpr int plateaus = 28;

// What the bench set on one plateau.
struct Setting {
  double current;
  double cell;
  double temperature;
  bool key;
};

class Maker {
 public:
  explicit Maker(std::uint64_t seed) : random_(seed) {}

  BenchSession make() {
    BenchSession s;
    s.channels = {{{"pack_current", "A", ChannelKind::hold}, {}},
                  {{"cell_01", "V", ChannelKind::hold}, {}},
                  {{"temp_1", "°C", ChannelKind::hold}, {}},
                  {{"supply", "V", ChannelKind::sample}, {}},
                  {{"key_switch", "state", ChannelKind::hold}, {}}};
    s.messages.resize(2);
    s.messages[0].id = CanId::standard(0x1A4);
    s.messages[1].id = CanId::extended(0x18FEF700);
    for (MessageSeries& m : s.messages) m.length = 8;
    for (int p = 0; p < plateaus; ++p) add_plateau(s, p * 4 * second);
    return s;
  }

 private:
  double share() { return static_cast<double>(random_() % 1000) / 999; }
  double noise() { return normal_(random_); }

  void add_plateau(BenchSession& s, std::int64_t start) {
    const Setting set{std::round((share() * 120 - 50) * 10) / 10, 2.6 + share(),
                      std::round(share() * 60 - 10), random_() % 2 == 0};
    s.channels[0].readings.push_back({start, set.current, 0.01, ""});
    s.channels[1].readings.push_back({start, set.cell, 0.0002, ""});
    s.channels[2].readings.push_back({start, set.temperature, 0.05, ""});
    s.channels[4].readings.push_back({start, 0, 0, set.key ? "on" : "off"});
    for (int k = 0; k < 4; ++k) {
      const std::int64_t t = start + k * second + second / 3;
      s.channels[3].readings.push_back({t, supply(t), 0.002, ""});
    }
    for (int k = 0; k < 40; ++k) add_fast_frame(s.messages[0], start + k * second / 10, set);
    for (int k = 0; k < 20; ++k) add_slow_frame(s.messages[1], start + k * second / 5, set);
  }

  static double supply(std::int64_t t_ns) {
    const double t = static_cast<double>(t_ns) * 1e-9;
    return 13 + 1.5 * std::sin(t / 7) + 0.8 * std::sin(t / 2.9 + 1);
  }

  void append(MessageSeries& m, std::int64_t t_ns, const std::array<std::uint8_t, 8>& bytes) {
    m.t_ns.push_back(t_ns);
    m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
  }

  void put(std::array<std::uint8_t, 8>& bytes, const Span& span, double raw) {
    insert(span, static_cast<std::uint64_t>(std::llround(raw + 0.6 * noise())), bytes);
  }

  void add_fast_frame(MessageSeries& m, std::int64_t t_ns, const Setting& set) {
    drift_ += 0.05 * noise();
    std::array<std::uint8_t, 8> bytes{};
    put(bytes, {{0, 7}, {1, 0}}, set.current / 0.1);
    put(bytes, {{3, 7}, {2, 0}}, set.cell / 0.001);
    bytes[4] = static_cast<std::uint8_t>(std::llround(drift_));
    bytes[5] = set.key ? 0x48 : 0x40;
    bytes[7] = static_cast<std::uint8_t>(m.size() % 16);
    append(m, t_ns, bytes);
  }

  void add_slow_frame(MessageSeries& m, std::int64_t t_ns, const Setting& set) {
    std::array<std::uint8_t, 8> bytes{};
    bytes[1] = static_cast<std::uint8_t>(std::llround(set.temperature + 40 + 0.3 * noise()));
    put(bytes, {{2, 7}, {3, 0}}, supply(t_ns) / 0.01);
    bytes[5] = static_cast<std::uint8_t>(random_());
    append(m, t_ns, bytes);
  }

  std::mt19937_64 random_;
  std::normal_distribution<double> normal_{0, 1};
  double drift_ = 100;
};

}  // namespace

BenchSession make_session(std::uint64_t seed) { return Maker(seed).make(); }

Correlation answer(const BenchSession& session) {
  return correlate(session.messages, session.channels, survey(session.messages));
}

const Proposal* first(const Correlation& c, std::string_view channel) {
  const auto at = std::find_if(c.proposals.begin(), c.proposals.end(), [&](const Proposal& p) {
    return p.channel == channel && p.rank == 1 && !p.derived;
  });
  return at == c.proposals.end() ? nullptr : &*at;
}

MessageSeries noise_message(CanId id, std::uint8_t bus, const BenchSession& session,
                            std::uint64_t seed) {
  std::mt19937_64 random(seed);
  MessageSeries m;
  m.bus = bus;
  m.id = id;
  m.length = 8;
  m.t_ns = session.messages[0].t_ns;
  for (std::size_t i = 0; i < m.t_ns.size() * 8; ++i) {
    m.bytes.push_back(static_cast<std::uint8_t>(random()));
  }
  return m;
}

MessageSeries mirrored(const MessageSeries& message) {
  MessageSeries m = message;
  for (std::size_t i = 0; i < m.size(); ++i) {
    const auto row = m.bytes.begin() + static_cast<std::ptrdiff_t>(i * m.length);
    std::reverse(row, row + m.length);
  }
  return m;
}

Span mirrored(const Span& span, int length) {
  Span m = span;
  m.msb.byte = static_cast<std::uint8_t>(length - 1 - span.msb.byte);
  m.lsb.byte = static_cast<std::uint8_t>(length - 1 - span.lsb.byte);
  return m;
}

}  // namespace foundling::test
