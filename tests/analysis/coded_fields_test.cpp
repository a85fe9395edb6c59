// Fields in other codes than binary and two's complement, on invented boards.
// FOUNDLING_CODED_BOARDS says how many are drawn (default 3); what was found is printed as counts
// by code.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <map>
#include <random>

#include "decoder/analysis/candidate.h"
#include "decoder/analysis/coded_spans.h"
#include "decoder/analysis/correlate.h"

using namespace foundling;

namespace {

constexpr std::int64_t second = 1'000'000'000;
using Random = std::mt19937_64;

struct Planted {
  std::string channel;
  std::size_t message = 0;
  Span span;
  Coding coding = Coding::natural;
  double scale = 1;
  double low = 0;  // of the bench's levels, in the channel's unit
  double high = 0;
  double noise = 0;  // codes
  double value = 0;  // at the moment
};

std::uint64_t raw_of(double number, int width, Coding coding) {
  const auto whole = static_cast<std::int64_t>(std::llround(number));
  const std::uint64_t all = ~std::uint64_t{0} >> (64 - width);
  const auto size = static_cast<std::uint64_t>(std::abs(whole));
  switch (coding) {
    case Coding::sign_magnitude:
      return whole < 0 ? size | (all / 2 + 1) : size;
    case Coding::ones_complement:
      return whole < 0 ? all - size : size;
    case Coding::decimal: {
      std::uint64_t raw = 0;
      for (std::uint64_t left = size, shift = 0; left > 0; left /= 10, shift += 4) {
        raw |= (left % 10) << shift;
      }
      return raw;
    }
    default:
      return static_cast<std::uint64_t>(whole) & all;
  }
}

struct Board {
  std::vector<Planted> planted;
  std::vector<MessageSeries> messages;
  std::vector<ChannelSeries> channels;
};

// Two messages of eight bytes: four cells in one code, a current in another, a temperature, a
// counter.
class Maker {
 public:
  explicit Maker(std::uint64_t seed) : random_(seed), seed_(seed) {}

  Board make() {
    Board b;
    const bool little = chance(0.3);
    const Coding cells = chance(0.5) ? Coding::decimal : Coding::natural;
    const std::array<Coding, 3> signs{Coding::sign_magnitude, Coding::ones_complement,
                                      Coding::twos_complement};
    const double cell_noise = chance(0.5) ? 0 : 1.2;
    for (int i = 0; i < 4; ++i) {
      b.planted.push_back({"cell_0" + std::to_string(i + 1), 0, word(2 * i, little), cells, 0.001,
                           2.6, 3.8, cell_noise});
    }
    b.planted.push_back({"pack_current", 1, word(0, little), signs[seed_ % 3], 0.1, -150, 250,
                         seed_ / 3 % 2 == 0 ? 0 : 1.0});
    b.planted.push_back({"temp_1", 1, *parse_span("2.7..2.0"),
                         chance(0.5) ? Coding::sign_magnitude : Coding::twos_complement, 1, -25, 60,
                         0});
    b.planted.push_back({"speed", 1, *parse_span("3.7..4.4"),
                         chance(0.5) ? Coding::decimal : Coding::natural, 1, 0, 900, 0.8});
    draw(b);
    return b;
  }

 private:
  bool chance(double p) { return static_cast<double>(random_() % 10'000) < p * 10'000; }
  static Span word(int byte, bool little) {
    const auto at = static_cast<std::uint8_t>(byte);
    const auto next = static_cast<std::uint8_t>(byte + 1);
    return little ? Span{{next, 7}, {at, 0}} : Span{{at, 7}, {next, 0}};
  }

  void draw(Board& b) {
    b.messages.resize(2);
    for (std::size_t m = 0; m < 2; ++m) {
      b.messages[m].id = CanId::standard(static_cast<std::uint32_t>(0x300 + m));
      b.messages[m].length = 8;
    }
    for (Planted& p : b.planted) {
      p.value = p.low;
      b.channels.push_back({{p.channel, "u", ChannelKind::hold}, {}});
    }
    std::vector<std::size_t> order;
    for (std::size_t c = 0; c < b.planted.size(); ++c) order.insert(order.end(), 14, c);
    std::shuffle(order.begin(), order.end(), random_);
    std::int64_t t = 0;
    for (std::size_t c = 0; c < b.planted.size(); ++c) set(b, c, t);
    for (const std::size_t c : order) {
      t += 3 * second;
      set(b, c, t);
    }
    send(b, t + 3 * second);
  }

  void set(Board& b, std::size_t c, std::int64_t t) {
    Planted& p = b.planted[c];
    const double share = static_cast<double>(random_() % 10'000) / 9'999;
    p.value = std::round((p.low + share * (p.high - p.low)) / p.scale) * p.scale;
    Reading reading;
    reading.t_ns = t;
    reading.value = p.value;
    reading.uncertainty = 0.3 * p.scale;
    b.channels[c].readings.push_back(reading);
  }

  void send(Board& b, std::int64_t end) {
    std::vector<std::size_t> next(b.planted.size(), 0);
    for (std::int64_t t = second / 20; t < end; t += second / 20) {
      for (std::size_t m = 0; m < 2; ++m) {
        std::array<std::uint8_t, 8> bytes{};
        for (std::size_t c = 0; c < b.planted.size(); ++c) {
          const Planted& p = b.planted[c];
          if (p.message != m) continue;
          const auto& readings = b.channels[c].readings;
          while (next[c] + 1 < readings.size() && readings[next[c] + 1].t_ns + second / 10 <= t) {
            ++next[c];
          }
          double number = readings[next[c]].value / p.scale + p.noise * normal_(random_);
          if (p.coding == Coding::natural || p.coding == Coding::decimal) {
            number = std::max(number, 0.0);
          }
          insert(p.span, raw_of(number, p.span.width(), p.coding), bytes);
        }
        if (m == 1) bytes[7] = static_cast<std::uint8_t>(t / (second / 20) % 256);
        b.messages[m].t_ns.push_back(t + static_cast<std::int64_t>(m) * 2'000'000);
        b.messages[m].bytes.insert(b.messages[m].bytes.end(), bytes.begin(), bytes.end());
      }
    }
  }

  Random random_;
  std::uint64_t seed_;  // the first three boards have a current in each code, without noise
  std::normal_distribution<double> normal_{0, 1};
};

// The same numbers: the bits that moved, scale and offset.
bool is_right(const Planted& p, const Proposal& found, const Board& b) {
  if (found.verdict != Verdict::strong || found.place.id != b.messages[p.message].id) return false;
  if (!(found.place.span.lsb == p.span.lsb)) return false;
  if (p.coding == Coding::twos_complement && coding_of(found) != p.coding) return false;
  // A code of noise hides by how much two complements differ.
  if (p.coding == Coding::ones_complement && p.noise == 0 && coding_of(found) != p.coding) {
    return false;
  }
  const MessageSeries& m = b.messages[p.message];
  for (std::size_t i = 0; i < m.size(); i += 7) {
    const double truth = number_of(extract(p.span, m.row(i)), p.span.width(), p.coding) * p.scale;
    const double said =
        number_of(extract(found.place.span, m.row(i)), found.place.span.width(), coding_of(found)) *
            found.scale +
        found.offset;
    if (std::abs(truth - said) > 1.01 * p.scale) return false;
  }
  return true;
}

// 600 frames of eight bytes, two a second, in which a word of 16 bits steps and flickers.
MessageSeries word_message(Coding coding, double low, double high, double noise, int levels) {
  Random random(7);
  std::normal_distribution<double> normal(0, 1);
  MessageSeries m;
  m.id = CanId::standard(0x300);
  m.length = 8;
  double level = low;
  for (int i = 0; i < 600; ++i) {
    if (i % 20 == 0) {
      const auto step = static_cast<double>(random() % static_cast<unsigned>(levels));
      level = low + (high - low) * step / (levels - 1);
    }
    std::array<std::uint8_t, 8> bytes{};
    const double number = level + noise * normal(random);
    insert(*parse_span("0.7..1.0"), raw_of(number, 16, coding), bytes);
    m.t_ns.push_back(i * second / 2);
    m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
  }
  return m;
}

std::vector<CodedSpan> coded_in(const MessageSeries& m) {
  std::vector<std::uint32_t> frames(m.size());
  for (std::size_t i = 0; i < frames.size(); ++i) frames[i] = static_cast<std::uint32_t>(i);
  const BitMatrix bits(m, frames);
  const auto n = static_cast<std::size_t>(bits.bits());
  std::vector<bool> moving(n);
  for (std::size_t bit = 0; bit < n; ++bit) moving[bit] = bits.moves(static_cast<int>(bit));
  return coded_spans(bits, std::vector<bool>(n, false), moving);
}

bool has(const std::vector<CodedSpan>& coded, const std::string& span, Coding coding) {
  return std::any_of(coded.begin(), coded.end(), [&](const CodedSpan& c) {
    return c.coding == coding && to_string(c.span) == span;
  });
}

Candidate candidate_at(const std::string& span, Coding coding, double r2, double cost) {
  Candidate c;
  c.field.span = *parse_span(span);
  c.field.coding = coding;
  c.field.r2 = r2;
  c.round.cost_bits = cost;
  return c;
}

}  // namespace

TEST_CASE("bits are put forward in a code of their own only where they read so") {
  const auto digits = coded_in(word_message(Coding::decimal, 2600, 3800, 2, 9));
  CHECK(has(digits, "0.7..1.0", Coding::decimal));
  const auto signs = coded_in(word_message(Coding::sign_magnitude, -900, 1500, 1, 9));
  CHECK(has(signs, "0.7..1.0", Coding::sign_magnitude));
  // Binary numbers and two's complement are neither.
  CHECK(coded_in(word_message(Coding::natural, 2600, 3800, 2, 9)).empty());
  CHECK(coded_in(word_message(Coding::twos_complement, -900, 1500, 1, 9)).empty());
  // Three codes that happen to have no nibble above nine are no evidence.
  CHECK(coded_in(word_message(Coding::natural, 0x100, 0x302, 0, 3)).empty());
}

// A constant 43 before a byte, a constant 00 after it, then somebody else's byte: 128 to 511 as
// single precision.
TEST_CASE("a byte between constants and a neighbour are no float") {
  Random random(3);
  for (const bool parted : {true, false}) {
    CAPTURE(parted);
    MessageSeries m;
    m.id = CanId::standard(0x300);
    m.length = 4;
    for (int k = 0; k < 2000; ++k) {
      m.t_ns.push_back(k * second / 10);
      const auto middle = static_cast<std::uint8_t>(parted ? 0 : random() % 256);
      for (const std::uint8_t byte : {std::uint8_t{0x43}, static_cast<std::uint8_t>(random() % 256),
                                      middle, static_cast<std::uint8_t>(80 + random() % 32)}) {
        m.bytes.push_back(byte);
      }
    }
    CHECK(has(coded_in(m), "0.7..3.0", Coding::ieee754) == !parted);
  }
}

TEST_CASE("a rare code and a digit more must halve what is unexplained") {
  const Candidate binary = candidate_at("0.7..1.0", Coding::natural, 0.9990, 3);
  const Candidate alike = candidate_at("0.7..1.0", Coding::decimal, 0.9992, 1);
  const Candidate better = candidate_at("0.7..1.0", Coding::decimal, 0.9997, 5);
  CHECK_FALSE(takes_place(alike, binary));
  CHECK(takes_place(binary, alike));
  CHECK(takes_place(better, binary));
  CHECK_FALSE(takes_place(binary, better));
  const Candidate longer = candidate_at("0.7..2.4", Coding::decimal, 0.99975, 1);
  CHECK_FALSE(takes_place(longer, better));
  CHECK(takes_place(better, longer));
}

TEST_CASE("fields of digits, of sign and magnitude and of one's complement are found as such") {
  const char* wanted = std::getenv("FOUNDLING_CODED_BOARDS");
  const std::uint64_t boards = wanted == nullptr ? 3 : std::strtoull(wanted, nullptr, 10);
  std::map<Coding, std::pair<int, int>> right;  // of how many
  int false_strong = 0;
  for (std::uint64_t seed = 1; seed <= boards; ++seed) {
    const Board b = Maker(seed).make();
    const Correlation found = correlate(b.messages, b.channels, survey(b.messages), {});
    for (const Planted& p : b.planted) {
      const auto proposal = std::find_if(
          found.proposals.begin(), found.proposals.end(),
          [&](const Proposal& q) { return q.channel == p.channel && q.rank == 1 && !q.derived; });
      const bool good = proposal != found.proposals.end() && is_right(p, *proposal, b);
      auto& [good_ones, all] = right[p.coding];
      good_ones += good ? 1 : 0;
      ++all;
      const bool strong = proposal != found.proposals.end() && proposal->verdict == Verdict::strong;
      if (strong && !good) ++false_strong;
      if (!good) {
        MESSAGE("seed ", seed, " ", p.channel, " coding ", static_cast<int>(p.coding), " at ",
                to_string(p.span), ": ",
                proposal == found.proposals.end()
                    ? std::string("nothing")
                    : to_string(proposal->place.span) + " coding " +
                          std::to_string(static_cast<int>(coding_of(*proposal))) + " scale " +
                          std::to_string(proposal->scale) + (strong ? " strong" : " weak"));
      }
    }
  }
  for (const auto& [coding, counts] : right) {
    MESSAGE("coding ", static_cast<int>(coding), ": ", counts.first, " of ", counts.second);
    CHECK(counts.first * 20 >= counts.second * 19);
  }
  MESSAGE("strong and wrong: ", false_strong);
  CHECK(false_strong * 100 <= static_cast<int>(boards) * 7);
}
