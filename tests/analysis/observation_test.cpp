// What frames and readings may be: substitutes, late stamps, slips of the hand. Each is planted on
// a made-up board, and must be found for what it is; without it, nothing may be said to be wrong.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <string>

#include "decoder/analysis/correlate.h"
#include "decoder/analysis/observed_session.h"
#include "tests/analysis/observed_board.h"

using namespace foundling;
using foundling::test::observed_board;
using foundling::test::ObservedBoard;

namespace {

ObservedSession observe(const ObservedBoard& board) {
  return observe_session(board.messages, board.channels, survey(board.messages), board.end_ns());
}

Correlation answer(const ObservedBoard& board) {
  return correlate(board.messages, board.channels, survey(board.messages));
}

void check_is_right(const Correlation& c) {
  const auto own = std::find_if(c.proposals.begin(), c.proposals.end(),
                                [](const Proposal& p) { return p.channel == "cell_01"; });
  REQUIRE(own != c.proposals.end());
  CHECK(own->verdict == Verdict::strong);
  CHECK(to_string(own->place.span) == "0.7..1.0");
  CHECK(own->scale == doctest::Approx(0.001).epsilon(1e-9));
  CHECK(own->offset == 0);
}

void write_late(ObservedBoard& board, std::uint64_t seed, double most_s) {
  std::mt19937_64 random(seed);
  for (Reading& r : board.channels[0].readings) {
    if (r.t_ns == 0) continue;
    r.t_ns += static_cast<std::int64_t>(most_s * 1e9 * std::generate_canonical<double, 53>(random));
  }
}

const UnfitReading* unfit(const Correlation& c, std::int64_t id) {
  for (const UnfitReading& u : c.unfit_readings) {
    if (u.reading == id) return &u;
  }
  return nullptr;
}

}  // namespace

TEST_CASE("a clean session is left as it was written down") {
  const ObservedBoard board = observed_board(1, 14, 8);
  const ObservedSession seen = observe(board);
  REQUIRE(seen.cleaned.size() == 1);
  CHECK_FALSE(seen.cleaned[0].retimed);
  CHECK(seen.cleaned[0].odd.empty());
  CHECK(seen.cleaned[0].substitutes.empty());
  for (std::size_t i = 0; i < board.channels[0].readings.size(); ++i) {
    CHECK(seen.channels[0].readings[i].t_ns == board.channels[0].readings[i].t_ns);
    CHECK(seen.channels[0].readings[i].value == board.channels[0].readings[i].value);
  }
  const Correlation c = answer(board);
  check_is_right(c);
  CHECK(c.unanswered.empty());
  CHECK(c.unfit_readings.empty());
}

TEST_CASE("zeros for the first two seconds are left out") {
  const ObservedBoard board = observed_board(
      2, 14, 8, [](double t, std::uint16_t raw) { return t < 2 ? std::uint16_t{0} : raw; });
  const ObservedSession seen = observe(board);
  REQUIRE_FALSE(seen.cleaned[0].substitutes.empty());
  CHECK(seen.cleaned[0].substitutes[0].at_start);
  CHECK(seen.cleaned[0].substitutes[0].raw == 0);
  CHECK(seen.left_out[0][0]);
  CHECK_FALSE(seen.left_out[0][100]);
  const Correlation c = answer(board);
  check_is_right(c);
  CHECK(c.proposals[0].startup_codes == std::vector<std::uint64_t>{0});
  CHECK(c.proposals[0].reserved == std::vector<std::uint64_t>{0});
}

TEST_CASE("bursts of all ones and a code inside the range are left out wherever they come") {
  const ObservedBoard board = observed_board(3, 16, 9, [](double t, std::uint16_t raw) {
    if (std::fmod(t, 17) < 1.5) return std::uint16_t{0xFFFF};
    return t > 60 && t < 75 ? std::uint16_t{3600} : raw;
  });
  const ObservedSession seen = observe(board);
  std::size_t left_out = 0;
  for (std::size_t i = 0; i < board.messages[0].size(); ++i) {
    const auto row = board.messages[0].row(i);
    const bool ones = row[0] == 0xFF && row[1] == 0xFF;
    if (ones) CHECK(seen.left_out[0][i]);
    left_out += seen.left_out[0][i] ? 1U : 0U;
  }
  CHECK(left_out < board.messages[0].size() / 4);
  const Correlation c = answer(board);
  check_is_right(c);
  CHECK(std::find(c.proposals[0].reserved.begin(), c.proposals[0].reserved.end(), 0xFFFFU) !=
        c.proposals[0].reserved.end());
}

TEST_CASE("readings that a hand stamps late, each by its own amount, are moved to the change") {
  for (const std::uint64_t seed : {11U, 12U, 13U}) {
    CAPTURE(seed);
    ObservedBoard board = observed_board(seed, 16, 10);
    write_late(board, seed, 5);
    const ObservedSession seen = observe(board);
    REQUIRE(seen.cleaned[0].retimed);
    for (std::size_t i = 1; i < board.times_s.size(); ++i) {
      // The board shows a change 0.1 s after it, in a frame every 50 ms.
      const double moved = static_cast<double>(seen.channels[0].readings[i].t_ns) * 1e-9;
      CHECK(std::abs(moved + retimed_lead_s - board.times_s[i] - 0.1) < 0.06);
    }
    check_is_right(answer(board));
    CHECK(answer(board).unfit_readings.empty());
  }
}

TEST_CASE("no reading is moved before the moment at which it was asked for") {
  ObservedBoard board = observed_board(14, 16, 10);
  write_late(board, 14, 5);
  for (std::size_t i = 0; i < board.times_s.size(); ++i) {
    board.channels[0].readings[i].earliest_ns = static_cast<std::int64_t>(board.times_s[i] * 1e9);
  }
  // One was asked for only after the board had shown it, as where a value was set too early.
  Reading& early = board.channels[0].readings[7];
  early.earliest_ns += 2'000'000'000;
  early.t_ns = std::max(early.t_ns, early.earliest_ns);
  const ObservedSession seen = observe(board);
  for (std::size_t i = 1; i < board.times_s.size(); ++i) {
    CHECK(seen.channels[0].readings[i].t_ns + static_cast<std::int64_t>(retimed_lead_s * 1e9) >=
          board.channels[0].readings[i].earliest_ns);
  }
}

TEST_CASE("slips of the hand are named by kind, with what the board says, and no good reading is") {
  ObservedBoard board = observed_board(21, 20, 8);
  auto& readings = board.channels[0].readings;
  const auto right = [&](std::size_t i) { return readings[i].value; };
  const double of_3 = right(3), of_7 = right(7), of_11 = right(11);
  readings[3].value *= 10;
  readings[7].value *= -1;
  readings[11].value = readings[10].value;
  const Correlation c = answer(board);
  check_is_right(c);
  REQUIRE(unfit(c, 4) != nullptr);
  CHECK(unfit(c, 4)->kind == Slip::factor_10);
  CHECK(unfit(c, 4)->expected == doctest::Approx(of_3).epsilon(0.001));
  REQUIRE(unfit(c, 8) != nullptr);
  CHECK(unfit(c, 8)->kind == Slip::sign);
  CHECK(unfit(c, 8)->expected == doctest::Approx(of_7).epsilon(0.001));
  REQUIRE(unfit(c, 12) != nullptr);
  CHECK(unfit(c, 12)->kind == Slip::previous);
  CHECK(unfit(c, 12)->expected == doctest::Approx(of_11).epsilon(0.001));
  CHECK(c.unfit_readings.size() == 3);
}

TEST_CASE("slips inside the range, early, in the middle and late, do not hide the field") {
  ObservedBoard board = observed_board(22, 20, 8);
  auto& readings = board.channels[0].readings;
  std::vector<double> right;
  for (const std::size_t i : {2U, 6U, 9U, 13U, 17U}) {
    right.push_back(readings[i].value);
    // (Of the others one is beyond 4.096 V, where the field's top bit moves for once.)
    // As far away as the range allows, and within it.
    readings[i].value = readings[i].value < 3.5 ? 4.15 - 0.01 * static_cast<double>(i)
                                                : 2.85 + 0.01 * static_cast<double>(i);
  }
  const Correlation c = answer(board);
  check_is_right(c);
  CHECK(c.unfit_readings.size() == 5);
  for (std::size_t k = 0; k < std::min<std::size_t>(5, c.unfit_readings.size()); ++k) {
    CHECK(c.unfit_readings[k].expected == doctest::Approx(right[k]).epsilon(0.001));
  }
}

TEST_CASE("a reading a few hundredths off is named too, one within its uncertainty is not") {
  ObservedBoard board = observed_board(23, 18, 8);
  board.channels[0].readings[5].value += 0.03;
  board.channels[0].readings[9].value += 0.001;
  const Correlation c = answer(board);
  check_is_right(c);
  REQUIRE(c.unfit_readings.size() == 1);
  CHECK(c.unfit_readings[0].reading == 6);
}

TEST_CASE("stamps that are late as often as early are moved as well") {
  ObservedBoard board = observed_board(15, 16, 10);
  write_late(board, 15, 4);
  for (Reading& r : board.channels[0].readings)
    r.t_ns = std::max<std::int64_t>(0, r.t_ns - 2'800'000'000);
  const ObservedSession seen = observe(board);
  CHECK(seen.cleaned[0].retimed);
  check_is_right(answer(board));
}

TEST_CASE("swapped digits are a slip of their own kind") {
  ChannelSeries channel{{"cell_01", "V", ChannelKind::hold}, {}};
  Reading reading;
  reading.value = 3.465;
  channel.readings.push_back(reading);
  CHECK(slip_kind({}, channel, {0, 3.645, 0, 0}, 0.003) == Slip::digits);
  CHECK(slip_kind({}, channel, {0, 3.7, 0, 0}, 0.003) == Slip::unfit);
}

TEST_CASE("a value of another channel written down for this one is named so") {
  std::vector<ChannelSeries> channels{{{"cell_01", "V", ChannelKind::hold}, {}},
                                      {{"cell_02", "V", ChannelKind::hold}, {}}};
  Reading reading;
  reading.value = 3.111;
  channels[0].readings.push_back(reading);
  channels[1].readings.push_back(reading);
  CHECK(slip_kind(channels, channels[0], {0, 3.9, 0, 0}, 0.003) == Slip::neighbour);
}

TEST_CASE("a channel that is not on the bus gets no answer, but a word") {
  ObservedBoard board = observed_board(31, 14, 8);
  ChannelSeries absent = observed_board(32, 14, 8).channels[0];
  absent.channel.name = "cell_02";
  board.channels.push_back(std::move(absent));
  const Correlation c = answer(board);
  check_is_right(c);
  REQUIRE(c.unanswered.size() == 1);
  CHECK(c.unanswered[0].channel == "cell_02");
  CHECK_FALSE(c.unanswered[0].reason.empty());
  CHECK_FALSE(c.unanswered[0].advice.empty());
}

TEST_CASE("levels that went one way are not called strong, and a drift is not called theirs") {
  ObservedBoard board = observed_board(41, 10, 10);
  auto& readings = board.channels[0].readings;
  std::vector<double> values;
  for (const Reading& r : readings) values.push_back(r.value);
  std::sort(values.begin(), values.end());
  // The same field, its steps upwards only.
  std::size_t k = 0;
  MessageSeries& m = board.messages[0];
  for (std::size_t i = 0; i < m.size(); ++i) {
    const double t = static_cast<double>(m.t_ns[i]) * 1e-9;
    while (k + 1 < values.size() && board.times_s[k + 1] + 0.1 <= t) ++k;
    const auto raw = static_cast<std::uint16_t>(std::lround(values[k] * 1000));
    m.bytes[i * 4] = static_cast<std::uint8_t>(raw >> 8);
    m.bytes[i * 4 + 1] = static_cast<std::uint8_t>(raw & 255);
  }
  for (std::size_t i = 0; i < values.size(); ++i) readings[i].value = values[i];
  Correlation c = answer(board);
  REQUIRE_FALSE(c.proposals.empty());
  CHECK(c.proposals[0].verdict == Verdict::weak);
  CHECK(c.proposals[0].note.find("one way") != std::string::npos);
  CHECK(c.unanswered.size() == 1);

  // A drift in its place: silence.
  for (std::size_t i = 0; i < m.size(); ++i) {
    const auto raw = static_cast<std::uint16_t>(2800 + i);
    m.bytes[i * 4] = static_cast<std::uint8_t>(raw >> 8);
    m.bytes[i * 4 + 1] = static_cast<std::uint8_t>(raw & 255);
  }
  c = answer(board);
  CHECK(std::none_of(c.proposals.begin(), c.proposals.end(),
                     [](const Proposal& p) { return p.channel == "cell_01"; }));
  CHECK(c.unanswered.size() == 1);
}

TEST_CASE(
    "a switch whose entries are late, and one of them wrong, is found and the wrong one named") {
  ObservedBoard board = observed_board(51, 24, 9);
  ChannelSeries interlock{{"interlock", "state", ChannelKind::hold}, {}};
  MessageSeries& m = board.messages[0];
  std::mt19937_64 random(51);
  for (std::size_t k = 0; k < board.times_s.size(); ++k) {
    Reading r;
    r.t_ns = static_cast<std::int64_t>(
        (board.times_s[k] + (k > 0 ? 4 * std::generate_canonical<double, 53>(random) : 0)) * 1e9);
    r.state = k % 2 == 0 ? "open" : "closed";
    r.id = 100 + static_cast<std::int64_t>(k);
    interlock.readings.push_back(std::move(r));
  }
  std::size_t k = 0;
  for (std::size_t i = 0; i < m.size(); ++i) {
    while (k + 1 < board.times_s.size() &&
           board.times_s[k + 1] <= static_cast<double>(m.t_ns[i]) * 1e-9) {
      ++k;
    }
    // In the eleventh stretch it was opened no more: the entry is wrong.
    const bool closed = k % 2 == 1 || k == 10;
    m.bytes[i * 4 + 3] = static_cast<std::uint8_t>(closed ? 0x5B : 0x5A);
  }
  board.channels.push_back(std::move(interlock));
  const Correlation c = answer(board);
  const auto own = std::find_if(c.proposals.begin(), c.proposals.end(),
                                [](const Proposal& p) { return p.channel == "interlock"; });
  REQUIRE(own != c.proposals.end());
  CHECK(to_string(own->place.span) == "3.0");
  CHECK(own->verdict == Verdict::strong);
  REQUIRE(unfit(c, 110) != nullptr);
  CHECK(unfit(c, 110)->expected_state == "closed");
}

TEST_CASE("an even staircase does not answer to an even drift, however well the line fits") {
  ObservedBoard board = observed_board(42, 12, 10);
  std::mt19937_64 random(42);
  auto& readings = board.channels[0].readings;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    readings[i].t_ns = static_cast<std::int64_t>(i) * 10'000'000'000;
    readings[i].value = 2.8 + 0.1 * static_cast<double>(i);
  }
  MessageSeries& m = board.messages[0];
  for (std::size_t i = 0; i < m.size(); ++i) {
    const auto noise = static_cast<std::int64_t>(random() % 9);  // or it were a counter
    const auto raw = static_cast<std::uint16_t>(2800 + m.t_ns[i] / 100'000'000 + noise);
    m.bytes[i * 4] = static_cast<std::uint8_t>(raw >> 8);
    m.bytes[i * 4 + 1] = static_cast<std::uint8_t>(raw & 255);
  }
  const Correlation c = answer(board);
  CHECK(std::none_of(c.proposals.begin(), c.proposals.end(),
                     [](const Proposal& p) { return p.channel == "cell_01"; }));
  CHECK(c.unanswered.size() == 1);
}
