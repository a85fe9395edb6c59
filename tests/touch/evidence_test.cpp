// One candidate's bet, by hand.
#include "decoder/touch/evidence.h"

#include <doctest/doctest.h>

#include <cmath>

#include "decoder/touch/answers.h"
#include "tests/touch/touched_board.h"

namespace foundling::touch {
namespace {

// A clean step in every bin.
Moments step_at(int bin, bool rose) {
  std::array<bool, window_bins> seen{};
  seen.fill(true);
  const Mask mask(seen);
  Bins values{};
  for (int i = 0; i < window_bins; ++i) {
    values[static_cast<std::size_t>(i)] = (i >= bin) == rose ? 1 : 0;
  }
  return moments_of_change(mask, values, Shape::step, shape_norms(mask, Shape::step), 0.05);
}

int bin_of(int place) { return lead_bins + place * place_bins; }

}  // namespace

TEST_CASE("a clean step is most likely where it is, and nearly impossible elsewhere") {
  const Moments moments = step_at(40, true);
  CHECK(moments.rising[40] == doctest::Approx(1));
  CHECK(moments.falling[40] == 0);
  CHECK(moments.rising[45] < 1e-3);
  CHECK(moments.rising[30] < 1e-3);
}

TEST_CASE("a turn's factor has mean one over the places that might have been drawn") {
  const History history{{0, step_at(40, true)}, {1, step_at(27, false)}, {2, step_at(61, true)}};
  for (int first : {0, 5, 11}) {
    for (int second : {2, 9}) {
      double before = 0, sum = 0;
      for (int third = 0; third < places; ++third) {
        std::vector<Draw> draws{{first, 1}, {second, 0}, {third, 1}};
        before = follow({history[0], history[1]}, draws).log_evidence;
        sum += std::exp(follow(history, draws).log_evidence);
      }
      CHECK(sum / places == doctest::Approx(std::exp(before)));
    }
  }
}

TEST_CASE("steps that follow the word win more with every turn, once the delay is known") {
  History history;
  std::vector<Draw> draws;
  std::vector<double> factors;
  double last = 0;
  for (std::size_t turn = 0; turn < 8; ++turn) {
    const int place = static_cast<int>(turn * 7 % places);
    const int target = turn % 2 == 0 ? 1 : 0;
    history.push_back({turn, step_at(bin_of(place) + 6, target == 1)});
    draws.push_back({place, target});
    const double now = follow(history, draws).log_evidence;
    factors.push_back(std::exp(now - last));
    last = now;
  }
  CHECK(factors.front() > 1.5);
  CHECK(factors.back() > factors.front() + 1);
  const Followed followed = follow(history, draws);
  CHECK(followed.answered == 8);
  CHECK(followed.delays.front() == 6);
  CHECK(followed.up == 8);
}

TEST_CASE("a turn taken back can no longer speak for a candidate") {
  const History history{{0, step_at(bin_of(3) + 5, true)}};
  CHECK(follow(history, std::vector<Draw>{{3, 1, false}}).log_evidence > 0.3);
  CHECK(follow(history, std::vector<Draw>{{3, 1, true}}).log_evidence == 0);
  // Else one could take back what spoke against a favourite.
  CHECK(follow(history, std::vector<Draw>{{9, 1, true}}).log_evidence < -1);
}

TEST_CASE("a change that came with another word's moment costs a turn, and not the whole test") {
  const History history{{0, step_at(bin_of(3) + 5, true)}};
  const double lost = follow(history, std::vector<Draw>{{9, 1}}).log_evidence;
  CHECK(std::exp(lost) == doctest::Approx(0.1).epsilon(0.05));
}

TEST_CASE("the shares of all candidates together are never more than the whole") {
  TouchedBoard board(7, {true, false});
  TouchTest test = board.test();
  double before = 0;
  for (int turn = 0; turn < 4; ++turn) {
    board.turn(test, turn);
    double whole = 0;
    for (const auto& [candidate, entry] : test.entries()) whole += std::exp(entry.log_share);
    CHECK(whole <= 1 + 1e-9);
    CHECK(whole >= before);
    before = whole;
  }
  CHECK(before > 0.2);
}

}  // namespace foundling::touch
