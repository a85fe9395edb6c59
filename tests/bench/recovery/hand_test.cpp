// The families in which a hand is late or writes down wrongly: by how much, how often, and that the
// truth knows it.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "tests/bench/recovery/shared_boards.h"
#include "tests/bench/recovery/slips.h"

using namespace foundling;
using namespace foundling::recovery;

namespace {

constexpr std::uint64_t seeds = 2;

double seconds(std::int64_t t_ns) { return static_cast<double>(t_ns) * 1e-9; }

// Entries of typed channels, each beside what an honest hand would have written.
template <typename Visit>
void each_typed(Family family, const Visit& visit) {
  for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
    const RandomBoard& board = board_of(family, seed);
    for (std::size_t c = 0; c < board.channels.size(); ++c) {
      if (board.channels[c].channel.kind != ChannelKind::hold) continue;
      const std::vector<Reading>& written = board.channels[c].readings;
      const std::vector<Reading>& honest = board.truth.channels[c].honest;
      REQUIRE(written.size() == honest.size());
      for (std::size_t i = 0; i < written.size(); ++i) visit(written[i], honest[i]);
    }
  }
}

}  // namespace

TEST_CASE("a late hand stamps each reading late by its own 0 to 5 seconds, and knows no prompt") {
  double most = 0;
  each_typed(Family::late_hand, [&](const Reading& written, const Reading& honest) {
    const double late = seconds(written.t_ns - honest.t_ns);
    CHECK(late >= 0);
    CHECK(late <= 5);
    CHECK(written.earliest_ns == Reading::no_time);
    CHECK(written.value == honest.value);
    CHECK(written.state == honest.state);
    most = std::max(most, late);
  });
  CHECK(most > 4.5);
}

TEST_CASE("a very late hand is later than 5 seconds with some readings, ahead with a few") {
  int late = 0, early = 0, all = 0;
  each_typed(Family::very_late, [&](const Reading& written, const Reading& honest) {
    const double by = seconds(written.t_ns - honest.t_ns);
    CHECK(by >= -0.5 - 1e-9);
    CHECK(by < 25);
    late += by > 5 ? 1 : 0;
    early += by < 0 ? 1 : 0;
    ++all;
  });
  CHECK(late > 0.04 * all);
  CHECK(late < 0.15 * all);
  CHECK(early < 0.03 * all);
}

TEST_CASE("a prompt comes before the change, and after the entry before") {
  each_typed(Family::prompted, [&](const Reading& written, const Reading& honest) {
    CHECK(written.earliest_ns != Reading::no_time);
    CHECK(written.earliest_ns <= honest.t_ns);
    CHECK(written.earliest_ns <= written.t_ns);
    CHECK(seconds(honest.t_ns - written.earliest_ns) <= 4 + 1e-9);
  });
}

TEST_CASE(
    "where prompts are known, an instrument's readings are from the moment they are stamped") {
  int instruments = 0;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    for (const ChannelSeries& channel : board_of(Family::prompted, seed).channels) {
      if (channel.channel.kind != ChannelKind::sample) continue;
      ++instruments;
      for (const Reading& reading : channel.readings) CHECK(reading.earliest_ns == reading.t_ns);
    }
  }
  CHECK(instruments > 0);
}

TEST_CASE("levels are held for eight seconds at least where the hand is late") {
  for (const Family family : {Family::late_hand, Family::very_late, Family::prompted}) {
    for (const TrueChannel& channel : board_of(family, 1).truth.channels) {
      if (channel.levels >= 100) continue;  // an instrument
      for (std::size_t i = 1; i < channel.honest.size(); ++i) {
        // The first change comes when it comes; writing down takes a moment.
        if (i > 1) CHECK(seconds(channel.honest[i].t_ns - channel.honest[i - 1].t_ns) > 7.9);
      }
    }
  }
}

TEST_CASE("slips are as frequent as their family says, and the truth knows each of them") {
  for (const Family family : {Family::slips_3, Family::slips_10}) {
    const double rate = family == Family::slips_3 ? 0.03 : 0.10;
    CAPTURE(name_of(family));
    int planted = 0, all = 0;
    std::set<Slip> kinds;
    for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
      const RandomBoard& board = board_of(family, seed);
      for (std::size_t c = 0; c < board.channels.size(); ++c) {
        const TrueChannel& truth = board.truth.channels[c];
        std::set<std::int64_t> slipped;
        for (const TrueSlip& slip : truth.slips) {
          slipped.insert(slip.reading);
          kinds.insert(slip.kind);
        }
        planted += static_cast<int>(truth.slips.size());
        if (board.channels[c].channel.kind != ChannelKind::hold) continue;
        for (std::size_t i = 0; i < truth.honest.size(); ++i) {
          const Reading& written = board.channels[c].readings[i];
          const Reading& honest = truth.honest[i];
          ++all;
          CHECK(written.t_ns == honest.t_ns);
          const double off = std::abs(written.value - honest.value);
          if (slipped.count(written.id) == 0) CHECK((off == 0 && written.state == honest.state));
          if (slipped.count(written.id) != 0)
            CHECK((off > telling_difference(truth) || written.state != honest.state));
        }
      }
    }
    CHECK(planted > 0.5 * rate * all);
    CHECK(planted < 1.6 * rate * all);
    if (family == Family::slips_10) CHECK(kinds.size() == 5);
  }
}

TEST_CASE(
    "swapped names put the readings of one channel under the other, for two minutes at most") {
  for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
    const RandomBoard& board = board_of(Family::swapped, seed);
    std::set<std::size_t> struck;
    std::int64_t from = std::numeric_limits<std::int64_t>::max(), until = 0;
    for (std::size_t c = 0; c < board.channels.size(); ++c) {
      std::set<std::int64_t> own;
      for (const Reading& reading : board.truth.channels[c].honest) own.insert(reading.id);
      for (const Reading& reading : board.channels[c].readings) {
        if (own.count(reading.id) != 0) continue;
        struck.insert(c);
        from = std::min(from, reading.t_ns), until = std::max(until, reading.t_ns);
      }
    }
    CAPTURE(seed);
    CHECK(struck.size() == 2);
    CHECK(seconds(until - from) <= 120);
    for (const std::size_t c : struck) {
      const TrueChannel& truth = board.truth.channels[c];
      CHECK(!truth.slips.empty());
      CHECK(3 * truth.slips.size() <= truth.honest.size() + 2);
    }
  }
}
