// Fields that slips and substitutes hide from a search that trusts what it reads: far values, half
// of few levels spoilt, a code for no value in the midst of the range, words written down once
// more.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include "decoder/analysis/observed_session.h"
#include "decoder/analysis/rough_field.h"
#include "decoder/analysis/state_search.h"
#include "decoder/analysis/substitute_pattern.h"
#include "decoder/analysis/whole_top.h"
#include "tests/analysis/observed_board.h"

using namespace foundling;
using foundling::test::observed_board;
using foundling::test::ObservedBoard;

namespace {

std::vector<Stream> streams_of(const std::vector<MessageSeries>& messages) {
  return make_streams(messages, survey(messages));
}

std::vector<RoughField> rough(const ObservedBoard& board) {
  return rough_fields(streams_of(board.messages), board.channels[0], board.end_ns());
}

// A message whose bytes flicker and rest as they like: eight bits that change now and then.
MessageSeries chatter(std::uint64_t seed, std::int64_t end_ns) {
  MessageSeries message;
  message.id = CanId::standard(0x2B0);
  message.length = 1;
  std::mt19937_64 random(seed);
  std::uint8_t now = 0;
  for (std::int64_t t = 20'000'000; t < end_ns; t += 50'000'000) {
    for (unsigned bit = 0; bit < 8; ++bit) {
      if (random() % (20U << bit) == 0) now = static_cast<std::uint8_t>(now ^ (1U << bit));
    }
    message.t_ns.push_back(t);
    message.bytes.push_back(now);
  }
  return message;
}

}  // namespace

TEST_CASE("one far value does not let any bit pass for the field") {
  for (const std::uint64_t seed : {61U, 62U, 63U, 64U}) {
    CAPTURE(seed);
    ObservedBoard board = observed_board(seed, 9, 8);
    board.channels[0].readings.front().value *= -1;  // the sign forgotten
    // A bit that happens to stand otherwise during the first plateau only.
    MessageSeries other = chatter(seed, board.end_ns());
    for (std::size_t i = 0; i < other.size(); ++i) {
      other.bytes[i] = static_cast<std::uint8_t>((other.bytes[i] & 0x0FU) |
                                                 (other.t_ns[i] < 8'000'000'000 ? 0x80U : 0U));
    }
    board.messages.insert(board.messages.begin(), other);
    const auto fields = rough(board);
    REQUIRE_FALSE(fields.empty());
    CHECK(fields.front().stream == 1);
    CHECK(fields.front().agree == 8);
  }
}

TEST_CASE("of 24 levels seven may be slips, each a value that another one had") {
  for (const std::uint64_t seed : {71U, 72U, 73U, 74U}) {
    CAPTURE(seed);
    ObservedBoard board = observed_board(seed, 24, 8);
    auto& readings = board.channels[0].readings;
    for (const std::size_t slip : {1U, 4U, 8U, 11U, 15U, 18U, 21U}) {
      readings[slip].value = readings[slip - 1].value > 3.5 ? readings[2].value : readings[5].value;
    }
    board.messages.insert(board.messages.begin(), chatter(seed, board.end_ns()));
    const auto fields = rough(board);
    REQUIRE_FALSE(fields.empty());
    CHECK(fields.front().stream == 1);
    CHECK(fields.front().agree >= 15);
  }
}

TEST_CASE("of a board that follows slowly, a late reading is moved to where it set out") {
  for (const std::uint64_t seed : {91U, 92U, 93U}) {
    CAPTURE(seed);
    double slow = 0;
    ObservedBoard board = observed_board(seed, 18, 10, [&](double, std::uint16_t raw) {
      slow = slow == 0 ? raw : slow + (raw - slow) * (1 - std::exp(-0.05 / 0.4));  // 0.4 s
      return static_cast<std::uint16_t>(std::lround(slow));
    });
    std::mt19937_64 random(seed);
    auto& readings = board.channels[0].readings;
    for (std::size_t k = 1; k < readings.size(); ++k) {
      readings[k].t_ns += static_cast<std::int64_t>(random() % 5'000) * 1'000'000;
    }
    const ObservedSession seen =
        observe_session(board.messages, board.channels, survey(board.messages), board.end_ns());
    REQUIRE(seen.cleaned[0].retimed);
    for (std::size_t k = 1; k < readings.size(); ++k) {
      CAPTURE(k);
      const Reading& moved = seen.cleaned[0].series.readings[k];
      CHECK(std::isfinite(moved.value));
      const double begins_s = static_cast<double>(moved.t_ns) * 1e-9 + retimed_lead_s;
      CHECK(std::abs(begins_s - board.times_s[k] - 0.1) < 0.3);  // it answers after 0.1 s
    }
  }
}

TEST_CASE("levels that fall between a field's coarse steps contradict no reading") {
  // Steps of 64 codes, levels of 32: each second level is exact, each other half a step off.
  for (const std::uint64_t seed : {95U, 96U, 97U}) {
    CAPTURE(seed);
    ObservedBoard board = observed_board(seed, 20, 8, [](double, std::uint16_t raw) {
      const long level = std::lround(raw / 32.0);
      return static_cast<std::uint16_t>((level + level % 2) * 32);
    });
    for (Reading& r : board.channels[0].readings) {
      r.value = 0.032 * static_cast<double>(std::lround(std::round(1000 * r.value) / 32.0));
    }
    const ObservedSession seen =
        observe_session(board.messages, board.channels, survey(board.messages), board.end_ns());
    CHECK(seen.cleaned[0].odd.empty());
    for (const Reading& r : seen.cleaned[0].series.readings) CHECK(std::isfinite(r.value));
  }
}

TEST_CASE("what a field is worth are the bits that a reading tells of it") {
  // r2 = 1 - 4^-k tells k bits: -1/2 log2(1 - r2) (mutual information of two normal quantities,
  // C. E. Shannon, Bell Syst. Tech. J. 27 (1948) 623).
  RowSet set;
  std::vector<double> raw;
  for (int i = 0; i < 40; ++i) {
    set.rows.push_back({0, 1, static_cast<double>(i), 0, 0, set.plateaus++});
    raw.push_back(10 * i + (i % 2 == 0 ? 30.0 : -30.0));
  }
  const auto field = concentrate(set, raw, {0, 10, 0});
  REQUIRE(field);
  CHECK(field->agree == 40);
  CHECK(field->saving == doctest::Approx(-20 * std::log2(1 - field->r2)));
  // 40 levels, evenly apart: variance 10^2 (40^2 - 1) / 12, and 30^2 about the line.
  const double total = 100 * (1600 - 1) / 12.0 + 900;
  CHECK(field->r2 == doctest::Approx(1 - 900 / total).epsilon(0.02));
}

TEST_CASE(
    "a burst's frames are left out also where its code is about right, by what else they show") {
  const Span field = *parse_span("0.3..1.0");  // twelve of sixteen bits, signed: FFF is -1
  const auto message_of = [](bool top_follows, int code = 0xFFF) {
    MessageSeries message;
    message.id = CanId::standard(0x1A4);
    message.length = 2;
    for (int i = 0; i < 200; ++i) {
      const bool burst = i % 20 < 4;
      const int value = 0x3FFF + (i % 50) * 8 - 200;  // FFF itself at i = 25
      const int raw = burst ? (top_follows ? 0xF000 | code : (value & 0xF000) | code) : value;
      message.t_ns.push_back(i * 50'000'000LL);
      message.bytes.push_back(static_cast<std::uint8_t>(raw >> 8));
      message.bytes.push_back(static_cast<std::uint8_t>(raw));
    }
    return message;
  };
  const std::vector<MessageSeries> messages{message_of(true)};
  const Stream stream = streams_of(messages).front();
  LeftOut out(200, false);
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = i % 20 < 3;
  leave_out_alike(messages[0], stream, field, 0xFFF, out);
  for (std::size_t i = 0; i < out.size(); ++i) {
    CAPTURE(i);
    CHECK(out[i] == (i % 20 < 4));  // the value FFF at 25 stays
  }
  // A code that is about right more often than not is a value, unless it is all ones or all zeros.
  for (const auto& [given, left_out] : {std::pair{0xFFF, 40}, {0, 40}, {0xFFE, 3}, {0x7FF, 3}}) {
    const int code = given;
    CAPTURE(code);
    const std::vector<MessageSeries> mostly{message_of(true, code)};
    LeftOut few(200, false);
    for (const std::size_t i : {0U, 1U, 2U}) few[i] = true;
    leave_out_alike(mostly[0], streams_of(mostly).front(), field, static_cast<std::uint64_t>(code),
                    few);
    CHECK(std::count(few.begin(), few.end(), true) == left_out);
  }
  // Where the other bits are those of ordinary values, the code alone is no reason.
  const std::vector<MessageSeries> plain{message_of(false)};
  LeftOut untouched(200, false);
  for (const std::size_t i : {20U, 21U, 22U}) untouched[i] = true;
  leave_out_alike(plain[0], streams_of(plain).front(), field, 0xFFF, untouched);
  CHECK(std::count(untouched.begin(), untouched.end(), true) == 3);
}

TEST_CASE(
    "a word written down once more is named, and bits that flicker do not pass for a switch") {
  // Boards that answer at once, and after 0.4 s: until then the field shows the word before.
  for (const unsigned seed : {81U, 82U, 83U}) {
    const std::int64_t lag_ns = seed == 83 ? 400'000'000 : 0;
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    ChannelSeries relay{{"relay", "state", ChannelKind::hold}, {}};
    MessageSeries message;
    message.id = CanId::standard(0x3C0);
    message.length = 1;
    std::int64_t t = 0;
    for (int k = 0; k < 16; ++k) {
      const bool closed = k % 2 == 1;
      Reading reading;
      reading.t_ns = t;
      reading.id = 100 + k;
      // The eleventh is right as "open"; it was put down as the one before.
      reading.state = closed || k == 10 ? "closed" : "open";
      relay.readings.push_back(reading);
      const std::int64_t end =
          t + 6'000'000'000 + static_cast<std::int64_t>(random() % 6'000) * 1'000'000;
      for (const std::int64_t set = t; t < end; t += 50'000'000) {
        const auto flicker = static_cast<std::uint8_t>(random() & 0x7FU);
        const bool shows = (t < set + lag_ns) != closed;
        message.t_ns.push_back(t + 30'000'000);
        message.bytes.push_back(static_cast<std::uint8_t>(flicker | (shows ? 0x80U : 0U)));
      }
    }
    const std::vector<MessageSeries> messages{message};
    const StateSearch found = search_states(streams_of(messages), relay, t, 7);
    REQUIRE_FALSE(found.candidates.empty());
    CHECK(to_string(found.candidates.front().span) == "0.7");
    CHECK(found.chance <= 0.01);
    REQUIRE(found.candidates.front().odd.size() == 1);
    CHECK(found.candidates.front().odd[0].reading == 10);
    CHECK(found.candidates.front().odd[0].shown == "open");
  }
}

TEST_CASE(
    "of three words typed late into a slow board's session, the wrong one is named and no other") {
  const std::array<std::string, 3> words{"park", "neutral", "drive"};
  int named = 0;
  for (unsigned seed = 500; seed < 530; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    ChannelSeries gear{{"gear", "state", ChannelKind::hold}, {}};
    MessageSeries message;
    message.id = CanId::standard(0x3C0);
    message.length = 1;
    std::int64_t t = 0;
    std::size_t word = 0, before = 0;
    for (int k = 0; k < 20; ++k) {
      Reading reading;
      reading.t_ns = t + (k == 0 ? 0 : static_cast<std::int64_t>(random() % 4'000) * 1'000'000);
      reading.id = 100 + k;
      // The twelfth was put down as the one before, or as the third word.
      const bool slips = k == 11;
      reading.state = words[!slips ? word : seed % 2 == 0 ? before : 3 - word - before];
      gear.readings.push_back(reading);
      const std::int64_t end =
          t + 10'000'000'000 + static_cast<std::int64_t>(random() % 6'000) * 1'000'000;
      for (const std::int64_t set = t; t < end; t += 50'000'000) {
        message.t_ns.push_back(t + 30'000'000);
        message.bytes.push_back(static_cast<std::uint8_t>(t < set + 400'000'000 ? before : word));
      }
      before = word;
      word = (word + 1 + random() % 2) % 3;
    }
    const std::vector<MessageSeries> messages{message};
    const StateSearch found = search_states(streams_of(messages), gear, t, 7, 19);
    REQUIRE_FALSE(found.candidates.empty());
    const auto& odd = found.candidates.front().odd;
    if (odd.empty()) continue;
    CHECK(odd.size() == 1);
    CHECK(odd[0].reading == 11);
    ++named;
  }
  CHECK(named >= 29);
}

namespace {

// The field of an `observed_board` about half of its range in place of from zero up: 3.5 V is
// 0x8000.
std::uint16_t about_half_of_the_range(std::uint16_t raw) {
  return static_cast<std::uint16_t>(0x8000 + raw - 3500);
}

bool is_all_ones(const MessageSeries& message, std::size_t i) {
  return message.row(i)[0] == 0xFF && message.row(i)[1] == 0xFF;
}

}  // namespace

TEST_CASE("a field about half of its range is not read as a signed one without its top bit") {
  for (const std::uint64_t seed : {81U, 82U, 83U, 84U}) {
    CAPTURE(seed);
    // Ones are -1 in the narrower reading, which is 3.499 V: about right at some levels.
    const ObservedBoard board = observed_board(seed, 16, 9, [](double t, std::uint16_t raw) {
      return std::fmod(t, 17) < 1.5 ? std::uint16_t{0xFFFF} : about_half_of_the_range(raw);
    });
    const auto streams = streams_of(board.messages);
    RoughField narrow;
    narrow.span = *parse_span("0.6..1.0");
    narrow.coding = Coding::twos_complement;
    const RoughField whole =
        with_upper_bits(narrow, streams.at(0), board.channels[0], board.end_ns());
    CHECK(to_string(whole.span) == "0.7..1.0");
    CHECK(whole.coding == Coding::natural);
    CHECK(whole.line.slope == doctest::Approx(1000).epsilon(0.01));
  }
}

TEST_CASE("bits above a field that move only where it stands for no value are not taken for its") {
  const ObservedBoard board = observed_board(85, 16, 9, [](double t, std::uint16_t raw) {
    return t > 40 && t < 60 ? std::uint16_t{0xFFFF} : static_cast<std::uint16_t>(raw & 0x0FFFU);
  });
  const auto streams = streams_of(board.messages);
  RoughField narrow;
  narrow.span = *parse_span("0.3..1.0");
  const RoughField whole =
      with_upper_bits(narrow, streams.at(0), board.channels[0], board.end_ns());
  CHECK(to_string(whole.span) == "0.3..1.0");
}

TEST_CASE("a second copy of a channel stands for no value at times of its own") {
  ObservedBoard board = observed_board(86, 16, 9, [](double t, std::uint16_t raw) {
    return std::fmod(t + 8, 17) < 1.5 ? std::uint16_t{0xFFFF} : raw;
  });
  ObservedBoard copy = observed_board(86, 16, 9, [](double t, std::uint16_t raw) {
    return std::fmod(t, 17) < 1.5 ? std::uint16_t{0xFFFF} : raw;
  });
  copy.messages[0].id = CanId::standard(0x2A4);
  board.messages.push_back(copy.messages[0]);
  const ObservedSession seen =
      observe_session(board.messages, board.channels, survey(board.messages), board.end_ns());
  REQUIRE(seen.left_out[1].size() == board.messages[1].size());
  for (std::size_t i = 0; i < board.messages[1].size(); ++i) {
    CHECK(seen.left_out[1][i] == is_all_ones(board.messages[1], i));
  }
  for (std::size_t i = 0; i < board.messages[0].size(); ++i) {
    CHECK(seen.left_out[0][i] == is_all_ones(board.messages[0], i));
  }
}

TEST_CASE("a field that goes with a channel and is off with many codes keeps all its frames") {
  ObservedBoard board = observed_board(86, 16, 9, [](double t, std::uint16_t raw) {
    return std::fmod(t + 8, 17) < 1.5 ? std::uint16_t{0xFFFF} : raw;
  });
  // Another quantity, which stands for a quarter of a second at each of its values meanwhile.
  ObservedBoard other = observed_board(86, 16, 9, [](double t, std::uint16_t raw) {
    const auto own = static_cast<std::uint16_t>(4040 + static_cast<int>(t * 4) % 13);
    return std::fmod(t, 17) < 1.5 ? own : raw;
  });
  other.messages[0].id = CanId::standard(0x2A4);
  board.messages.push_back(other.messages[0]);
  const ObservedSession seen =
      observe_session(board.messages, board.channels, survey(board.messages), board.end_ns());
  const auto& left_out = seen.left_out[1];
  CHECK(std::count(left_out.begin(), left_out.end(), true) == 0);
}
