// The disturbed families: what is said to go wrong does, nothing else does, and the truth knows it.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "tests/bench/recovery/place.h"
#include "tests/bench/recovery/shared_boards.h"

using namespace foundling;
using namespace foundling::recovery;

namespace {

constexpr std::uint64_t seeds = 2;

double seconds(std::int64_t t_ns) { return static_cast<double>(t_ns) * 1e-9; }

template <typename Visit>
void each_field(Family family, const Visit& visit) {
  for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
    const RandomBoard& board = board_of(family, seed);
    for (const TrueChannel& channel : board.truth.channels) {
      for (const TrueField& field : channel.fields) {
        visit(board, field, *find_message(board.messages, field.bus, field.id));
      }
    }
  }
}

// Codes that a field holds in a window, over its own page where the page can be told.
std::set<std::uint64_t> codes_in(const MessageSeries& message, const TrueField& field,
                                 const Window& window) {
  std::set<std::uint64_t> codes;
  for (const std::size_t i : rows_of(message, page_of(field))) {
    if (window.holds(seconds(message.t_ns[i]))) codes.insert(extract(field.span, message.row(i)));
  }
  return codes;
}

const Reading& standing_at(const std::vector<Reading>& readings, std::int64_t t_ns) {
  const auto next = std::upper_bound(readings.begin(), readings.end(), t_ns,
                                     [](std::int64_t t, const Reading& r) { return t < r.t_ns; });
  return next == readings.begin() ? *next : *(next - 1);
}

// Standard deviation of y about the best line through x, at every step of either.
double scatter_about_line(const std::vector<Reading>& y, const std::vector<Reading>& x) {
  constexpr std::int64_t settled_ns = 1'000'000'000;  // channels of one step follow one another
  double n = 0, sx = 0, sy = 0, sxx = 0, syy = 0, sxy = 0;
  for (const std::vector<Reading>* steps : {&y, &x}) {
    for (const Reading& step : *steps) {
      const double a = standing_at(x, step.t_ns + settled_ns).value - x.front().value;
      const double b = standing_at(y, step.t_ns + settled_ns).value - y.front().value;
      n += 1, sx += a, sy += b, sxx += a * a, syy += b * b, sxy += a * b;
    }
  }
  const double xx = sxx - sx * sx / n, yy = syy - sy * sy / n, xy = sxy - sx * sy / n;
  return std::sqrt(std::max(0.0, yy - xy * xy / xx) / n);
}

std::uint64_t fold(std::uint64_t hash, std::uint64_t value) {  // FNV-1a
  return (hash ^ value) * 0x100000001B3U;
}

}  // namespace

TEST_CASE("what goes wrong in some families leaves the boards of the others as they always were") {
  std::uint64_t hash = 0xCBF29CE484222325U;
  for (const Family family : undisturbed_families()) {
    const RandomBoard& board = board_of(family, 1);
    for (const MessageSeries& message : board.messages) {
      for (const std::uint8_t byte : message.bytes) hash = fold(hash, byte);
      hash = fold(hash, static_cast<std::uint64_t>(message.t_ns.back()));
    }
    for (const ChannelSeries& channel : board.channels) {
      hash = fold(hash, static_cast<std::uint64_t>(channel.readings.back().t_ns));
    }
  }
  CHECK(hash == 10148493031651623201U);
}

TEST_CASE("readings are numbered as rows of a capture, in the order in which they were written") {
  for (const Family family : all_families()) {
    CAPTURE(name_of(family));
    const RandomBoard& board = board_of(family, 1);
    std::vector<std::pair<std::int64_t, std::int64_t>> rows;
    for (const ChannelSeries& channel : board.channels) {
      CHECK(std::is_sorted(channel.readings.begin(), channel.readings.end(),
                           [](const Reading& a, const Reading& b) { return a.t_ns < b.t_ns; }));
      for (const Reading& reading : channel.readings) rows.emplace_back(reading.id, reading.t_ns);
    }
    std::sort(rows.begin(), rows.end());
    for (std::size_t i = 1; i < rows.size(); ++i) {
      CHECK(rows[i].first > rows[i - 1].first);
      CHECK(rows[i].second >= rows[i - 1].second);
    }
  }
}

TEST_CASE("a substitute is one code, or the value before, for as long as it lasts") {
  for (const Family family :
       {Family::startup_codes, Family::bursts, Family::dropout, Family::reset, Family::brown_out}) {
    CAPTURE(name_of(family));
    int windows = 0;
    each_field(family, [&](const RandomBoard&, const TrueField& field, const MessageSeries& m) {
      std::set<std::uint64_t> at_all;
      for (const Window& window : field.substituted) {
        const std::set<std::uint64_t> codes = codes_in(m, field, window);
        CAPTURE(describe(field));
        const bool overlaps = std::any_of(
            field.substituted.begin(), field.substituted.end(), [&](const Window& other) {
              return &other != &window && other.from_s < window.until_s &&
                     window.from_s < other.until_s;
            });
        if (field.ordinary_from_s <= window.from_s && !overlaps) CHECK(codes.size() <= 1);
        windows += codes.empty() ? 0 : 1;
      }
    });
    CHECK(windows >= 10);
  }
}

TEST_CASE("a frozen field goes on sending the value before, or at the start its first") {
  for (const auto& [chosen, seed] :
       {std::pair(Family::dropout, 4U), std::pair(Family::startup_codes, 14U)}) {
    const Family family = chosen;
    CAPTURE(name_of(family));
    const RandomBoard& board = board_of(family, seed);
    int frozen = 0;
    for (const TrueChannel& channel : board.truth.channels) {
      for (const TrueField& field : channel.fields) {
        if (field.substituted.size() != 1 || field.ordinary_from_s > 0) continue;
        const MessageSeries& message = *find_message(board.messages, field.bus, field.id);
        const Window& window = field.substituted.front();
        std::optional<std::uint64_t> before;
        std::set<std::uint64_t> codes = codes_in(message, field, window);
        for (const std::size_t i : rows_of(message, page_of(field))) {
          if (seconds(message.t_ns[i]) >= window.from_s) break;
          before = extract(field.span, message.row(i));
        }
        if (before) codes.insert(*before);
        CAPTURE(describe(field));
        CHECK(codes.size() == 1);
        frozen += before.has_value() == (window.from_s > 0) ? 1 : 0;
      }
    }
    CHECK(frozen >= 4);
  }
}

TEST_CASE("start-up codes, bursts and dropouts last as long as they should") {
  const auto lasts = [](Family family, double shortest, double longest, bool from_the_start) {
    each_field(family, [&](const RandomBoard&, const TrueField& field, const MessageSeries&) {
      for (const Window& window : field.substituted) {
        CHECK(window.until_s - window.from_s >= shortest - 1e-9);
        CHECK(window.until_s - window.from_s <= longest + 1e-9);
        CHECK((window.from_s == 0) == from_the_start);
      }
    });
  };
  lasts(Family::startup_codes, 0.5, 20, true);
  lasts(Family::bursts, 0.2, 5, false);
  lasts(Family::dropout, 5, 30, false);
  lasts(Family::brown_out, 0.5, 6, false);
}

TEST_CASE("a dropout's code also occurs where the field measures") {
  // Else it could be told by its value alone.
  int inside = 0, all = 0;
  each_field(Family::dropout,
             [&](const RandomBoard&, const TrueField& field, const MessageSeries& message) {
               std::uint64_t least = ~0ULL, greatest = 0;
               for (const std::size_t i : rows_of(message, page_of(field))) {
                 if (!field.is_ordinary(message.t_ns[i]) || field.is_signed) continue;
                 const std::uint64_t raw = extract(field.span, message.row(i));
                 least = std::min(least, raw), greatest = std::max(greatest, raw);
               }
               if (field.is_signed) return;
               for (const Window& window : field.substituted) {
                 for (const std::uint64_t code : codes_in(message, field, window)) {
                   ++all;
                   inside += least <= code && code <= greatest ? 1 : 0;
                 }
               }
             });
  CHECK(all >= 10);
  CHECK(inside > 0.75 * all);
}

TEST_CASE("a reset silences the whole board for a moment, and its counters begin anew") {
  for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
    const RandomBoard& board = board_of(Family::reset, seed);
    double from = 0, until = 0;  // the longest silence of the message that is sent most often
    const auto busiest = std::max_element(
        board.messages.begin(), board.messages.end(),
        [](const MessageSeries& a, const MessageSeries& b) { return a.size() < b.size(); });
    for (std::size_t i = 1; i < busiest->size(); ++i) {
      const double before = seconds(busiest->t_ns[i - 1]), now = seconds(busiest->t_ns[i]);
      if (now - before > until - from) from = before, until = now;
    }
    CHECK(until - from > 0.3);
    CHECK(until - from < 3);
    int counters = 0;
    for (const TrueMessage& truth : board.truth.messages) {
      const MessageSeries& message = *find_message(board.messages, truth.bus, truth.id);
      std::size_t first = 0;
      while (first < message.size() && seconds(message.t_ns[first]) < until - 0.02) ++first;
      if (first == message.size() || truth.counters.empty()) continue;
      // Zeros or ones all over hide the counter; it is there again afterwards.
      const std::uint64_t value = extract(truth.counters.front().span, message.row(first));
      counters += value == 0 ? 1 : 0;
    }
    CAPTURE(seed);
    CHECK(counters >= 1);
  }
}

TEST_CASE("poor sessions have five levels, or staircases over drifts of which half are not sent") {
  for (const TrueChannel& channel : board_of(Family::five_levels, 1).truth.channels) {
    CHECK((channel.levels <= 5 || channel.levels >= 100));
  }
  for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
    const RandomBoard& board = board_of(Family::staircase, seed);
    std::ptrdiff_t absent = 0;
    for (const TrueChannel& channel : board.truth.channels) {
      absent += channel.fields.empty() ? 1 : 0;
      if (channel.levels >= 100) continue;  // an instrument in the room
      const auto rises = [](const Reading& a, const Reading& b) { return a.value < b.value; };
      const auto falls = [](const Reading& a, const Reading& b) { return a.value > b.value; };
      CHECK((std::is_sorted(channel.honest.begin(), channel.honest.end(), rises) ||
             std::is_sorted(channel.honest.begin(), channel.honest.end(), falls)));
      CHECK(channel.honest.size() == static_cast<std::size_t>(channel.levels));
    }
    CHECK(std::abs(2 * absent - static_cast<std::ptrdiff_t>(board.channels.size())) <= 1);
  }
}

TEST_CASE("no staircase is a straight line of another that the board sends") {
  // Else nobody could tell whose field is whose, or that one of them is absent.
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const RandomBoard& board = board_of(Family::staircase, seed);
    for (const TrueChannel& sent : board.truth.channels) {
      if (sent.fields.empty() || sent.levels >= 100) continue;
      for (const TrueChannel& other : board.truth.channels) {
        if (&other == &sent || other.levels >= 100) continue;
        CAPTURE(seed);
        CAPTURE(sent.name + " and " + other.name);
        const double step = sent.fields.front().resolution() / (sent.high - sent.low);
        const double apart = std::max(0.004, 0.5 * step);  // of the range
        CHECK(scatter_about_line(other.honest, sent.honest) > apart * (other.high - other.low));
      }
    }
  }
}

TEST_CASE("with foreign readings no field carries a channel, and nothing is right") {
  int moved = 0, others = 0;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const RandomBoard& board = board_of(Family::foreign, seed);
    for (std::size_t c = 0; c < board.channels.size(); ++c) {
      CHECK(board.truth.channels[c].fields.empty());
      if (board.truth.disturbance.find("moved by") == std::string::npos) continue;
      const Reading& last = board.channels[c].readings.back();
      const auto honest =
          std::find_if(board.truth.channels[c].honest.begin(), board.truth.channels[c].honest.end(),
                       [&](const Reading& reading) { return reading.id == last.id; });
      CHECK(std::abs(seconds(last.t_ns - honest->t_ns)) >= 7);
      CHECK(std::abs(seconds(last.t_ns - honest->t_ns)) <= 45);
    }
    ++(board.truth.disturbance.find("moved by") == std::string::npos ? others : moved);
  }
  CHECK(moved > 0);
  CHECK(others > 0);
}

TEST_CASE("what a disturbance hides too much of is not asked for") {
  // Excited channels show five levels, or seven moves of a switch, in ordinary frames.
  for (const Family family : {Family::dropout, Family::slips_10, Family::very_late}) {
    CAPTURE(name_of(family));
    int asked = 0, sent = 0;
    for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
      for (const TrueChannel& channel : board_of(family, seed).truth.channels) {
        asked += channel.excited ? 1 : 0;
        sent += channel.fields.empty() ? 0 : 1;
        if (channel.excited) CHECK(3 * channel.slips.size() <= channel.honest.size());
      }
    }
    CHECK(asked > 0.7 * sent);
  }
}

TEST_CASE(
    "a page named by fewer selector bits is the same though a blanked frame seems to be on it") {
  MessageSeries message;
  message.length = 2;
  for (std::int64_t i = 0; i < 32; ++i) {
    message.t_ns.push_back(i * 1'000'000'000);
    const bool blanked = i == 20;
    message.bytes.push_back(static_cast<std::uint8_t>(blanked ? 0xFF : i % 16));
    message.bytes.push_back(blanked ? 0xFF : static_cast<std::uint8_t>(i));
  }
  TrueField field;
  field.page = TruePage{Span{{0, 7}, {0, 0}}, 15};
  field.span = {{1, 7}, {1, 0}};
  const FieldPlace place{field.bus, field.id, Page{Span{{0, 3}, {0, 0}}, 15}, field.span};
  CHECK(!same_place(message, field, place));
  field.substituted = {{19.5, 20.5}};
  CHECK(same_place(message, field, place));
}
