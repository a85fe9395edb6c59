// Touch tests on many random boards: the bit that answers is found, and nothing else is claimed,
// whenever the person stops. FOUNDLING_TOUCHED_BOARDS sets how many boards of each kind.
#include <doctest/doctest.h>

#include <cstdlib>

#include "decoder/touch/answers.h"
#include "decoder/touch/redraws.h"
#include "tests/touch/touched_board.h"

namespace foundling::touch {
namespace {

constexpr double claimed = 0.01;
constexpr int turns = 12;

int boards() {
  const char* const wanted = std::getenv("FOUNDLING_TOUCHED_BOARDS");
  return wanted != nullptr ? std::atoi(wanted) : 1;
}

bool around(const Candidate& one, const std::optional<Candidate>& truth) {
  return truth && one.message == truth->message && one.span && one.span->overlaps(*truth->span);
}

struct Outcome {
  bool found = false;  // first, and claimed, after the last turn or before
  bool wrong = false;  // something else was claimed after any turn
  int after = 0;       // turns, when it was claimed first
};

// `after_turn` may look at the test when all turns are done.
template <typename AtEnd>
Outcome touched(std::uint64_t seed, BoardKind kind, AtEnd at_end) {
  TouchedBoard board(seed, kind);
  TouchTest test = board.test();
  Outcome outcome;
  for (int turn = 0; turn < turns; ++turn) {
    board.turn(test, turn);
    const std::vector<Answer> found = answers(test, {}, 5);
    for (std::size_t i = 0; i < found.size(); ++i) {
      if (found[i].chance > claimed) continue;
      if (!around(found[i].candidate, board.truth())) outcome.wrong = true;
      const bool right = i == 0 && board.truth() && found[i].candidate == *board.truth();
      if (right && !outcome.found) outcome.after = turn + 1;
      outcome.found = outcome.found || right;
    }
  }
  at_end(test);
  return outcome;
}

}  // namespace

TEST_CASE("the bit that answers comes first on nearly every board, and nothing else is claimed") {
  int found = 0, wrong = 0, sum = 0;
  const int all = boards();
  for (int i = 0; i < all; ++i) {
    const auto outcome =
        touched(1000 + static_cast<std::uint64_t>(i), {true, true}, [](const TouchTest&) {});
    found += outcome.found ? 1 : 0;
    wrong += outcome.wrong ? 1 : 0;
    sum += outcome.after;
  }
  MESSAGE(found << " of " << all << " found, " << wrong << " with a wrong claim, after "
                << static_cast<double>(sum) / std::max(found, 1) << " turns");
  CHECK(found >= 0.98 * all);
  CHECK(wrong <= std::max(1.0, 0.01 * all));
}

TEST_CASE("on boards where nothing answers hardly anything is ever claimed") {
  int wrong = 0;
  const int all = boards();
  for (int i = 0; i < all; ++i) {
    wrong +=
        touched(5000 + static_cast<std::uint64_t>(i), {false, false}, [](const TouchTest&) {}).wrong
            ? 1
            : 0;
  }
  MESSAGE(wrong << " of " << all << " with a wrong claim");
  CHECK(wrong <= std::max(1.0, 0.01 * all));
}

TEST_CASE("drawing the places again tells an answer from none") {
  const int all = std::max(1, boards() / 10);
  const int redraws = boards() > 1 ? 99 : 19;
  int answered = 0, by_luck = 0;
  for (int i = 0; i < all; ++i) {
    const auto seed = 9000 + static_cast<std::uint64_t>(i);
    touched(seed, {true, true}, [&](const TouchTest& test) {
      answered += chance_by_redraws(test, redraws, seed) <= 1.0 / (1 + redraws);
    });
    touched(seed, {false, false}, [&](const TouchTest& test) {
      by_luck += chance_by_redraws(test, redraws, seed) <= 0.05;
    });
  }
  MESSAGE(answered << " of " << all << " answered as surely as can be, " << by_luck
                   << " by luck at 0.05");
  CHECK(answered >= 0.95 * all);
  CHECK(by_luck <= 2 + 0.1 * all);
}

}  // namespace foundling::touch
