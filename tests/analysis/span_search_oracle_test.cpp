// The search by bit moments against the naive one, over random small boards of every make: 11 and
// 29 bits, classical and 64-byte payloads, both byte orders, both signs.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>
#include <string>

#include "decoder/analysis/span_search.h"
#include "tests/analysis/naive_search.h"

using namespace foundling;

namespace {

constexpr std::int64_t second = 1'000'000'000;

struct Board {
  MessageSeries message;
  ChannelSeries channel;
};

// A field of random place, width, order and sign that follows the channel with some noise, and
// random or biased bytes around it; in a long payload only a few bytes move.
Board make_board(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  Board b;
  MessageSeries& m = b.message;
  m.id = random() % 2 == 0 ? CanId::standard(0x123) : CanId::extended(0x18FF1234);
  m.length = random() % 3 == 0 ? 64 : static_cast<std::uint8_t>(2 + random() % 7);
  const ByteOrder order = random() % 2 == 0 ? ByteOrder::big : ByteOrder::little;
  const bool is_signed = random() % 2 == 0;
  std::optional<Span> field;
  while (!field || field->last_byte() >= m.length) {
    const BitPosition lsb{static_cast<std::uint8_t>(random() % m.length),
                          static_cast<std::uint8_t>(random() % 8)};
    field = Span::from_lsb(lsb, static_cast<int>(3 + random() % 14), order);
  }
  std::vector<std::size_t> busy;
  for (int k = 0; k < 3; ++k) busy.push_back(random() % m.length);
  b.channel.channel = {"x", "V", ChannelKind::hold};
  const auto top = static_cast<double>((std::uint64_t{1} << field->width()) - 1);
  for (int p = 0; p < 9; ++p) {
    const double share = static_cast<double>(random() % 1000) / 999;
    b.channel.readings.push_back({p * second, 5 + 20 * share, 0, ""});
    for (int k = 0; k < 10; ++k) {
      m.t_ns.push_back(p * second + k * second / 10);
      std::vector<std::uint8_t> bytes(m.length, 0x55);
      for (const std::size_t i : busy) {
        bytes[i] = static_cast<std::uint8_t>(random() % 3 == 0 ? 0x10 : random());
      }
      double raw = share * top * 0.9 + static_cast<double>(random() % 3);
      if (is_signed) raw -= top / 2;
      insert(*field, static_cast<std::uint64_t>(std::llround(raw)), bytes);
      m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
    }
  }
  return b;
}

using Key = std::pair<std::string, bool>;  // span, signed

// Every span of at most `most_bits` that begins and ends at one of these bits, scored naively.
std::map<Key, double> every_span(const Board& b, const RowSet& set, const std::vector<int>& bits,
                                 int most_bits) {
  std::map<Key, double> all;
  for (const int low : bits) {
    for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
      for (int width = 1; width <= most_bits; ++width) {
        const auto span = Span::from_lsb(bit_position(low), width, order);
        if (!span || span->last_byte() >= b.message.length) break;
        if (std::find(bits.begin(), bits.end(), bit_index(span->msb)) == bits.end()) continue;
        for (const bool is_signed : {false, true}) {
          if (width == 1 && is_signed) continue;
          const Key key{to_string(*span), is_signed};
          if (!all.contains(key)) all[key] = naive_r2(b.message, set, *span, is_signed);
        }
      }
    }
  }
  return all;
}

}  // namespace

TEST_CASE("the search by bit moments finds what the naive one finds, and scores it alike") {
  for (std::uint64_t seed = 1; seed <= 24; ++seed) {
    CAPTURE(seed);
    const Board b = make_board(seed);
    const std::vector<MessageSeries> messages{b.message};
    const std::vector<Stream> streams = make_streams(messages, Survey{{MessageSurvey{}}});
    REQUIRE(streams.size() == 1);
    const RowSet set = make_rows(b.channel, 9 * second);
    Moments moments = row_means(streams[0], set, 0);
    const auto x = centred_x(moments, set);
    const auto c = bit_covariances(moments, x);
    make_covariance(moments);

    constexpr double least_r2 = 0.3;
    constexpr int most_bits = 24;
    const auto naive = every_span(b, set, moments.bits, most_bits);
    std::map<Key, double> found;
    for (const SpanScore& s : SpanTable(moments, most_bits).search(c, variance(x), least_r2)) {
      found[{to_string(s.span), s.is_signed}] = s.r2;
    }
    double best = 0;
    for (const auto& expected : naive) {
      const auto& key = expected.first;
      const double r2 = expected.second;
      CAPTURE(key.first);
      CAPTURE(key.second);
      CAPTURE(r2);
      best = std::max(best, r2);
      const auto at = found.find(key);
      if (r2 >= least_r2 + 1e-6) REQUIRE(at != found.end());
      if (at != found.end()) REQUIRE(at->second == doctest::Approx(r2).epsilon(1e-6));
    }
    for (const auto& span : found) {
      CAPTURE(span.first.first);
      REQUIRE(naive.contains(span.first));
    }
    CHECK(SpanTable(moments).best_r2(c, variance(x)) == doctest::Approx(best).epsilon(1e-9));
  }
}

TEST_CASE("a delay of the search is a shift of the frames") {
  for (std::uint64_t seed = 31; seed <= 34; ++seed) {
    CAPTURE(seed);
    const Board b = make_board(seed);
    MessageSeries late = b.message;
    for (std::int64_t& t : late.t_ns) t += 3 * second / 2;
    const RowSet set = make_rows(b.channel, 9 * second);
    const std::vector<MessageSeries> messages{late};
    const std::vector<Stream> streams = make_streams(messages, Survey{{MessageSurvey{}}});
    Moments moments = row_means(streams[0], set, 3 * second / 2);
    const auto x = centred_x(moments, set);
    const auto c = bit_covariances(moments, x);
    make_covariance(moments);
    for (const SpanScore& s : SpanTable(moments).search(c, variance(x), 0.8)) {
      const double naive = naive_r2(b.message, set, s.span, s.is_signed);
      REQUIRE(s.r2 == doctest::Approx(naive).epsilon(1e-6));
    }
  }
}
