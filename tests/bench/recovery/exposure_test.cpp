// What the truth claims of a disturbed board, derived once more in a slow and obvious way: what is
// asked for was shown, each slip is of its kind, a reset begins anew, foreign readings mean
// nothing.
#include "tests/bench/recovery/exposure.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "tests/bench/recovery/place.h"
#include "tests/bench/recovery/shared_boards.h"

using namespace foundling;
using namespace foundling::recovery;

namespace {

double seconds(std::int64_t t_ns) { return static_cast<double>(t_ns) * 1e-9; }

// A channel that is set, sent and excited on an undisturbed board, by place.
std::size_t a_set_channel(const RandomBoard& board) {
  for (std::size_t c = 0; c < board.channels.size(); ++c) {
    const ChannelSeries& series = board.channels[c];
    if (series.channel.kind == ChannelKind::hold && !series.channel.is_state() &&
        board.truth.channels[c].excited)
      return c;
  }
  REQUIRE_MESSAGE(false, "the board has no such channel");
  return 0;
}

std::ptrdiff_t count(const std::vector<bool>& usable) {
  return std::count(usable.begin(), usable.end(), true);
}

// The digits of a number, most significant first, without point, sign and zeros at its ends.
std::string digits_of(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.9f", std::abs(value));
  std::string digits = text;
  std::erase_if(digits, [](char one) { return one == '.'; });
  return digits;
}

// Two neighbours changed places, or one digit is another.
bool are_misread(double written, double honest) {
  const std::string a = digits_of(written), b = digits_of(honest);
  std::vector<std::size_t> other;
  for (std::size_t i = 0; i < std::max(a.size(), b.size()); ++i) {
    if (a.size() != b.size()) return false;
    if (a[i] != b[i]) other.push_back(i);
  }
  if (other.size() == 1) return true;
  return other.size() == 2 && a[other[0]] == b[other[1]] && a[other[1]] == b[other[0]];
}

bool is_of_kind(Slip kind, const RandomBoard& board, std::size_t c, std::size_t i) {
  const Reading& written = board.channels[c].readings[i];
  const std::vector<Reading>& honest = board.truth.channels[c].honest;
  switch (kind) {
    case Slip::factor_10:
      return written.value == honest[i].value * 10 || written.value == honest[i].value / 10;
    case Slip::sign:
      return written.value == -honest[i].value;
    case Slip::digits:
      return are_misread(written.value, honest[i].value);
    case Slip::previous:
      return i > 0 && written.value == honest[i - 1].value && written.state == honest[i - 1].state;
    case Slip::neighbour:
      for (std::size_t k = 0; k < board.channels.size(); ++k) {
        const std::vector<Reading>& others = board.truth.channels[k].honest;
        if (k != c && std::any_of(others.begin(), others.end(), [&](const Reading& other) {
              return other.value == written.value && other.t_ns <= written.t_ns + 100'000'000;
            }))
          return true;
      }
      return false;
    case Slip::unfit:
      break;
  }
  return false;
}

}  // namespace

TEST_CASE("a setting is usable where the field showed it and the reading is right") {
  RandomBoard board = board_of(Family::plain_big, 1);  // a copy
  const std::size_t c = a_set_channel(board);
  TrueChannel& truth = board.truth.channels[c];
  TrueField field = truth.fields.front();
  const auto all = static_cast<std::ptrdiff_t>(truth.honest.size());
  CHECK(count(usable_settings(board, c, field)) == all);

  field.substituted = {{0, 1e9}};
  CHECK(count(usable_settings(board, c, field)) == 0);

  const std::size_t half = truth.honest.size() / 2;
  field.substituted = {{0, seconds(truth.honest[half].t_ns)}};
  CHECK(count(usable_settings(board, c, field)) == all - static_cast<std::ptrdiff_t>(half));

  field.substituted = {};
  truth.slips = {{truth.honest[half].id, Slip::unfit}};
  truth.doubtful = {truth.honest[half - 1].id};
  const std::vector<bool> usable = usable_settings(board, c, field);
  CHECK(!usable[half]);
  CHECK(!usable[half - 1]);
  CHECK(count(usable) == all - 2);
}

TEST_CASE("two frames of a setting are too few, and those on the way to it do not count") {
  RandomBoard board = board_of(Family::plain_big, 1);
  const std::size_t c = a_set_channel(board);
  TrueField field = board.truth.channels[c].fields.front();
  const MessageSeries& message = *find_message(board.messages, field.bus, field.id);
  const std::vector<Reading>& honest = board.truth.channels[c].honest;
  const std::size_t k = honest.size() / 2;
  std::vector<double> after;  // frames of setting k, with ample time to settle
  for (const std::size_t i : rows_of(message, page_of(field))) {
    const std::int64_t t = message.t_ns[i];
    if (t > honest[k].t_ns + 2'500'000'000 && t < honest[k + 1].t_ns) after.push_back(seconds(t));
  }
  REQUIRE(after.size() > 4);
  const auto shown_until = [&](double until_s) -> bool {
    field.substituted = {{seconds(honest[k].t_ns), after.front() - 1e-6}, {until_s, 1e9}};
    return usable_settings(board, c, field)[k];
  };
  CHECK(shown_until(after[3] - 1e-6));
  CHECK(!shown_until(after[2] - 1e-6));
  field.substituted = {{seconds(honest[k].t_ns) + 0.3, 1e9}};  // only what is on its way
  CHECK(!usable_settings(board, c, field)[k]);
}

TEST_CASE("each slip is of the kind that the truth says, and factors go both ways") {
  int up = 0, down = 0, all = 0;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const RandomBoard& board = board_of(Family::slips_10, seed);
    for (std::size_t c = 0; c < board.channels.size(); ++c) {
      const std::vector<Reading>& readings = board.channels[c].readings;
      for (const TrueSlip& slip : board.truth.channels[c].slips) {
        const auto written = std::find_if(readings.begin(), readings.end(),
                                          [&](const Reading& r) { return r.id == slip.reading; });
        REQUIRE(written != readings.end());
        const auto i = static_cast<std::size_t>(written - readings.begin());
        CAPTURE(seed);
        CAPTURE(board.channels[c].channel.name);
        CAPTURE(written->value);
        CAPTURE(board.truth.channels[c].honest[i].value);
        CHECK(is_of_kind(slip.kind, board, c, i));
        ++all;
        if (slip.kind != Slip::factor_10) continue;
        const double honest = board.truth.channels[c].honest[i].value;
        ++(std::abs(written->value) > std::abs(honest) ? up : down);
      }
    }
  }
  CHECK(all > 50);
  CHECK(up > 3);
  CHECK(down > 3);
}

TEST_CASE(
    "after a reset every counter that can be seen starts from nothing, pages from the first") {
  int counters = 0, pages = 0;
  for (const std::uint64_t seed : {1U, 2U, 3U, 4U, 5U, 6U, 17U, 18U}) {  // the last two have pages
    const RandomBoard& board = board_of(Family::reset, seed);
    std::int64_t resumed = 0, longest = 0;  // of the message that is sent most often
    const auto busiest = std::max_element(
        board.messages.begin(), board.messages.end(),
        [](const MessageSeries& a, const MessageSeries& b) { return a.size() < b.size(); });
    for (std::size_t i = 1; i < busiest->size(); ++i) {
      const std::int64_t silent = busiest->t_ns[i] - busiest->t_ns[i - 1];
      if (silent > longest) longest = silent, resumed = busiest->t_ns[i];
    }
    for (const TrueMessage& truth : board.truth.messages) {
      const MessageSeries& message = *find_message(board.messages, truth.bus, truth.id);
      const auto first =
          std::lower_bound(message.t_ns.begin(), message.t_ns.end(), resumed - 100'000'000) -
          message.t_ns.begin();
      const auto row = message.row(static_cast<std::size_t>(first));
      const bool blank = std::all_of(row.begin(), row.end(), [&](std::uint8_t byte) {
        return byte == row[0] && (byte == 0 || byte == 0xFF);
      });
      if (blank) continue;
      CAPTURE(seed);
      for (const TrueCounter& counter : truth.counters) {
        CHECK(extract(counter.span, row) == 0);
        ++counters;
      }
      for (const TrueSelector& selector : truth.selectors) {
        CHECK(extract(selector.span, row) == extract(selector.span, message.row(0)));
        ++pages;
      }
    }
  }
  CHECK(counters > 20);
  CHECK(pages > 0);
}

TEST_CASE("foreign readings leave nothing that could be claimed") {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const Truth& truth = board_of(Family::foreign, seed).truth;
    CHECK(truth.confounded.empty());
    CHECK(truth.computed.empty());
    CHECK(truth.others.empty());
    for (const TrueChannel& channel : truth.channels) {
      CHECK(channel.fields.empty());
      CHECK(channel.also.empty());
      CHECK(!channel.excited);
    }
  }
}
