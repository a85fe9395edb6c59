// The scorer's own tests: what is wrong in an answer costs the figure that it belongs to, and no
// other. Each case spoils the perfect answer in one way.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "tests/bench/recovery/perfect_answer.h"
#include "tests/bench/recovery/ranks.h"
#include "tests/bench/recovery/rng.h"
#include "tests/bench/recovery/shared_boards.h"
#include "tests/bench/recovery/table.h"

using namespace foundling;
using namespace foundling::recovery;

namespace {

const RandomBoard& board() {
  static const RandomBoard made = make_board(Family::plain_little, 1);
  return made;
}

Figures figures_of(const Correlation& answer) {
  return score_board(board(), perfect_survey(board()), answer).figures;
}

// The first strong proposal of a straight line whose top bit moved.
Proposal& a_strong_one(Correlation& answer) {
  for (Proposal& p : answer.proposals) {
    for (const TrueChannel& channel : board().truth.channels) {
      if (channel.name != p.channel || !channel.excited || !p.states.empty()) continue;
      if (channel.fields.front().sign_can_be_told()) return p;
    }
  }
  REQUIRE_MESSAGE(false, "the board has no such channel");
  return answer.proposals.front();
}

Figures with(void (*spoil)(Proposal&)) {
  Correlation answer = perfect_answer(board());
  spoil(a_strong_one(answer));
  return figures_of(answer);
}

// Ranks of 1,000 intervals, each of the mean of six normal numbers whose deviation is estimated
// from them and then stretched.
RankHistogram ranks_of_means(double stretch, double shift) {
  RankHistogram ranks;
  Rng rng(4711);
  for (int n = 0; n < 1000; ++n) {
    double sum = 0, squares = 0;
    for (int i = 0; i < 6; ++i) {
      const double x = rng.normal();
      sum += x;
      squares += x * x;
    }
    const double mean = sum / 6;
    const double error = std::sqrt((squares - sum * mean) / 5 / 6);
    const double half = 2.570582 * error * stretch;  // Student's t, 5 degrees of freedom, 0.975
    ranks.add(rank_of(shift * error, {mean - half, mean + half}, 7));
  }
  return ranks;
}

Figures family_with(int found, int of, int false_strong) {
  Figures f;
  f.boards = 1;
  f.channels = 100;
  f.found = {found, of};
  f.scale_interval = {of, of};
  f.false_strong = false_strong;
  return f;
}

}  // namespace

TEST_CASE("a strong proposal at the right place with a wrong scale is a false one") {
  const Figures right = with([](Proposal&) {});
  CHECK(right.false_strong == 0);
  CHECK(right.wrong_strong == 0);
  const Figures wrong = with([](Proposal& p) { p.scale *= 1.006; });
  CHECK(wrong.found.good == wrong.found.of);
  CHECK(wrong.wrong_strong == 1);
  CHECK(wrong.false_strong == 1);
  CHECK(with([](Proposal& p) { p.scale *= 1.004; }).wrong_strong == 0);
  CHECK(with([](Proposal& p) { p.scale *= -1; }).wrong_strong == 1);
}

TEST_CASE("a scale that is right by the maker's papers or by the session's line is not wrong") {
  const RandomBoard imperfect = make_board(Family::imperfect, 1);
  int tried = 0;
  for (const TrueChannel& channel : imperfect.truth.channels) {
    if (!channel.excited || channel.fields.front().is_curved()) continue;
    const TrueField& field = channel.fields.front();
    const double gain = field.line_scale / field.scale - 1;
    if (!field.states.empty() || std::abs(gain) < 0.0015) continue;
    const auto wrong = [&](double scale) {
      Correlation answer = perfect_answer(imperfect);
      for (Proposal& p : answer.proposals) {
        if (p.channel == channel.name) p.scale = scale;
      }
      return score_board(imperfect, Survey{}, answer).figures.wrong_strong;
    };
    const double away = gain > 0 ? -1 : 1;  // from the other of the two
    CHECK(wrong(field.scale * (1 + away * 0.004)) == 0);
    CHECK(wrong(field.line_scale * (1 - away * 0.004)) == 0);
    CHECK(wrong(field.scale * (1 + away * 0.006)) == 1);
    ++tried;
  }
  CHECK(tried > 0);
}

TEST_CASE("a strong proposal with a wrong sign or width is a false one, a weak one is not") {
  CHECK(with([](Proposal& p) { p.is_signed = !p.is_signed; }).wrong_strong == 1);
  const Figures narrow = with([](Proposal& p) {
    const Span whole = p.place.span;
    p.place.span = {whole.position(whole.width() - 2), whole.lsb};
  });
  CHECK(narrow.wrong_strong == 1);
  CHECK(narrow.false_strong == 1);
  const Figures weak = with([](Proposal& p) {
    p.scale *= 2;
    p.verdict = Verdict::weak;
  });
  CHECK(weak.wrong_strong == 0);
  CHECK(weak.false_strong == 0);
}

TEST_CASE("a strong proposal elsewhere is false, and not counted as wrong at its place") {
  const Figures elsewhere = with([](Proposal& p) { p.place.id = CanId::standard(0x7FF); });
  CHECK(elsewhere.false_strong == 1);
  CHECK(elsewhere.wrong_strong == 0);
}

TEST_CASE("a channel without a strong proposal needs a reason and an advice") {
  const RandomBoard absent = make_board(Family::no_signal, 1);
  const Correlation perfect = perfect_answer(absent);
  REQUIRE(!perfect.unanswered.empty());
  const auto word_said = [&](const Correlation& answer) {
    return score_board(absent, Survey{}, answer).figures.unanswered;
  };
  const Ratio all = word_said(perfect);
  CHECK(all.of == static_cast<int>(perfect.unanswered.size()));
  CHECK(all.good == all.of);
  Correlation answer = perfect;
  answer.unanswered.front().advice.clear();
  CHECK(word_said(answer).good == all.good - 1);
  answer.unanswered.front() = perfect.unanswered.front();
  answer.unanswered.front().reason.clear();
  CHECK(word_said(answer).good == all.good - 1);
  answer = perfect;
  answer.proposals.front().verdict = Verdict::weak;
  CHECK(word_said(answer).of == all.of + 1);
  CHECK(word_said(answer).good == all.good);
  CHECK(word_said(Correlation{}).of == static_cast<int>(absent.truth.channels.size()));
  CHECK(word_said(Correlation{}).good == 0);
}

TEST_CASE("slips are asked for only where the board says something against them") {
  int asked = 0, all = 0;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const RandomBoard& slipped = board_of(Family::slips_10, seed);
    int excited = 0;
    for (const TrueChannel& channel : slipped.truth.channels) {
      all += static_cast<int>(channel.slips.size());
      if (channel.excited) excited += static_cast<int>(channel.slips.size());
    }
    const Ratio named = score_board(slipped, Survey{}, perfect_answer(slipped)).figures.slips_named;
    CHECK(named.of == excited);
    CHECK(named.good == excited);
    asked += excited;
  }
  CHECK(asked > 50);
  CHECK(all > asked);  // channels that are not on the board slip as well
}

TEST_CASE("the least chance stated for an absent channel is what is counted") {
  const RandomBoard absent = make_board(Family::no_signal, 1);
  const auto name = std::find_if(absent.truth.channels.begin(), absent.truth.channels.end(),
                                 [](const TrueChannel& c) { return c.fields.empty(); })
                        ->name;
  Correlation answer;
  const auto counted = [&] { return score_board(absent, Survey{}, answer).figures; };
  CHECK(counted().chance_05.of > 5);
  CHECK(counted().chance_05.of == counted().silence.of);
  CHECK(counted().chance_05.good == 0);
  for (const double chance : {0.2, 0.03, 0.1}) {
    Proposal p;
    p.channel = name;
    p.chance = chance;
    answer.proposals.push_back(p);
  }
  CHECK(counted().chance_05.good == 1);
  CHECK(counted().chance_01.good == 0);
  answer.proposals.back().chance = 0.01;
  CHECK(counted().chance_01.good == 1);
}

TEST_CASE("ranks of honest intervals are flat, of narrow, wide and biased ones they are not") {
  CHECK(ranks_of_means(1, 0).total() == 1000);
  CHECK(ranks_of_means(1, 0).probability() > 0.01);
  CHECK(ranks_of_means(0.8, 0).probability() < 0.01);
  CHECK(ranks_of_means(1.3, 0).probability() < 0.01);
  CHECK(ranks_of_means(1, 0.3).probability() < 0.01);
  const RankHistogram narrow = ranks_of_means(0.6, 0);  // heaps at the ends
  CHECK(narrow.counts.front() > 150);
  CHECK(narrow.counts.back() > 150);
}

TEST_CASE("each interval has its own histogram, and boards add up") {
  Figures sum;
  const auto total = [&](void (*spoil)(Proposal&)) {
    sum += with(spoil);
    return sum;
  };
  const auto offset_far_below = [](Proposal& p) {
    p.offset_interval = {p.offset - 2 * std::abs(p.scale), p.offset - std::abs(p.scale)};
  };
  const Figures one = total([](Proposal&) {});
  CHECK(one.offset_ranks.counts.back() == 0);
  const Figures two = total(offset_far_below);
  CHECK(two.offset_ranks.counts.back() == 1);
  CHECK(two.offset_ranks.total() == 2 * one.offset_ranks.total());
  CHECK(two.scale_ranks.counts.back() == 0);
  CHECK(two.scale_ranks.total() == 2 * one.scale_ranks.total());
  CHECK(total([](Proposal& p) { p.scale *= 2; }).wrong_strong == 1);
  CHECK(total([](Proposal& p) { p.scale *= 2; }).wrong_strong == 2);
}

TEST_CASE("chi-square of a histogram has the handbook's chance") {
  // NIST/SEMATECH e-Handbook of Statistical Methods 1.3.6.7.4: 9 degrees of freedom, upper 5 %
  // critical value 16.919, upper 1 % 21.666.
  RankHistogram even;
  for (int i = 0; i < 100; ++i) even.add(i / 100.0);
  CHECK(even.chi_square() == 0);
  CHECK(even.probability() == doctest::Approx(1));
  RankHistogram uneven = even;
  uneven.counts = {10, 10, 10, 10, 10, 10, 10, 10, 1, 19};
  CHECK(uneven.chi_square() == doctest::Approx(16.2));
  CHECK(uneven.probability() > 0.05);
  CHECK(uneven.probability() < 0.08);
  uneven.counts = {10, 10, 10, 10, 10, 10, 10, 10, 0, 20};
  CHECK(uneven.chi_square() == doctest::Approx(20));
  CHECK(uneven.probability() < 0.05);
  CHECK(uneven.probability() > 0.01);
}

TEST_CASE("the ends of an interval have the ranks 2.5 and 97.5 per cent") {
  for (const int levels : {3, 5, 20, 100}) {
    CHECK(rank_of(1, {1, 3}, levels) == doctest::Approx(0.025));
    CHECK(rank_of(2, {1, 3}, levels) == doctest::Approx(0.5));
    CHECK(rank_of(3, {1, 3}, levels) == doctest::Approx(0.975));
  }
  // One degree of freedom is Cauchy's distribution: 12.706 at 97.5 %, 1 at 75 %.
  CHECK(rank_of(2 + 1 / 12.7062, {1, 3}, 3) == doctest::Approx(0.75).epsilon(1e-4));
  CHECK(rank_of(1, {2, 2}, 8) == 0);
  CHECK(rank_of(2, {2, 2}, 8) == 0.5);
  CHECK(rank_of(3, {2, 2}, 8) == 1);
}

TEST_CASE("the worst family is named beside the mean, on whichever side a column is bad") {
  FamilyFigures families{{"good", family_with(10, 10, 0)},
                         {"blind", family_with(5, 10, 0)},
                         {"rash", family_with(9, 10, 3)},
                         {"empty", Figures{}}};
  families[2].second.scale_interval = {5, 10};
  const std::vector<Column> all = columns(Part::all);
  const auto worst = [&](const std::string& key) {
    const auto column =
        std::find_if(all.begin(), all.end(), [&](const Column& c) { return c.key == key; });
    const auto at = worst_family(*column, families);
    return at ? families[*at].first : std::string("none");
  };
  CHECK(worst("found") == "blind");
  CHECK(worst("false_strong") == "rash");
  CHECK(worst("scale_interval") == "rash");
  CHECK(worst("curve") == "none");
  families[2].second.scale_interval = {94, 100};  // 100 of 100 is further from the middle
  CHECK(worst("scale_interval") == "good");
  const std::string table = figures_table(families, Part::all);
  CHECK(table.find("found %          >=99  80.0!  50.0! blind\n") != std::string::npos);
  CHECK(table.find("false /100      <=0.5   1.0!   3.0! rash\n") != std::string::npos);
}
