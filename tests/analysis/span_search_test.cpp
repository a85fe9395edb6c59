#include "decoder/analysis/span_search.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "tests/analysis/naive_search.h"

using namespace foundling;

namespace {

struct SmallBoard {
  MessageSeries message;
  ChannelSeries channel;
};

// Three random bytes, in one of which a part follows the channel: enough to exercise every path.
SmallBoard small_board(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  SmallBoard board;
  board.message.id = CanId::standard(0x123);
  board.message.length = 3;
  board.channel.channel = {"x", "V", ChannelKind::hold};
  for (int plateau = 0; plateau < 8; ++plateau) {
    Reading reading;
    reading.t_ns = plateau * 1'000'000'000LL;
    reading.value = static_cast<double>(random() % 1000) / 10;
    board.channel.readings.push_back(reading);
    for (int k = 0; k < 10; ++k) {
      board.message.t_ns.push_back(reading.t_ns + k * 100'000'000LL);
      const auto level =
          static_cast<std::uint8_t>(reading.value / 3 + static_cast<double>(random() % 3));
      board.message.bytes.push_back(static_cast<std::uint8_t>(random()));
      board.message.bytes.push_back(level);
      board.message.bytes.push_back(static_cast<std::uint8_t>(random() % 4 == 0 ? 0x80 : 0x10));
    }
  }
  return board;
}

}  // namespace

TEST_CASE("the bit-moment search agrees with the naive oracle on every field of random boards") {
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    CAPTURE(seed);
    const SmallBoard board = small_board(seed);
    const std::vector<MessageSeries> messages{board.message};
    const std::vector<Stream> streams = make_streams(messages, Survey{{MessageSurvey{}}});
    REQUIRE(streams.size() == 1);
    const RowSet set = make_rows(board.channel, 8'000'000'000LL);
    Moments moments = row_means(streams[0], set, 0);
    const auto x = centred_x(moments, set);
    const auto c = bit_covariances(moments, x);
    make_covariance(moments);
    const auto found = SpanTable(moments).search(c, variance(x), 0);
    CHECK(found.size() > 100);
    for (const SpanScore& score : found) {
      const double naive = naive_r2(board.message, set, score.span, score.is_signed);
      REQUIRE(score.r2 == doctest::Approx(naive).epsilon(1e-6));
    }
    double best = 0;
    for (const SpanScore& score : found) best = std::max(best, score.r2);
    CHECK(SpanTable(moments).best_r2(c, variance(x)) == doctest::Approx(best).epsilon(1e-12));
  }
}

TEST_CASE("a message that came during one long plateau only is not judged") {
  RowSet set;
  Moments seen;
  for (int p = 0; p < 20; ++p) {
    for (int piece = 0; piece < (p == 19 ? 60 : 1); ++piece) {
      if (p == 19) seen.rows.push_back(set.rows.size());
      Row row;
      row.plateau = p;
      set.rows.push_back(row);
    }
  }
  set.plateaus = 20;
  CHECK_FALSE(covers(seen, set));
  seen.rows.clear();
  for (std::size_t i = 10; i < 40; ++i) seen.rows.push_back(i);
  CHECK(covers(seen, set));
}
