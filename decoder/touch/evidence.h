// How strongly one candidate followed the drawn places: a product of one factor a turn, each of
// mean 1 over the places that might have been drawn, whatever the board does by itself. So the
// product is a bet at fair odds against chance, and it may be looked at, and the test ended, after
// any turn (Ville 1939; Vovk & Wang 2021, Ann. Statist. 49, 1736; Ramdas et al. 2023, Statist.
// Sci. 38, 576). What earlier turns showed of the delay and the direction is used in the next
// turn's bet only. Pure.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "decoder/touch/shapes.h"

namespace foundling::touch {

struct Draw {
  int place = 0;            // 0..places - 1
  int target = 0;           // which of the two states it was to be brought into, 0 or 1
  bool taken_back = false;  // may no longer speak for a candidate, but still against it
};

struct TurnMoments {
  std::size_t turn = 0;  // counts from 0
  Moments moments;
};
using History = std::vector<TurnMoments>;  // the turns in which the candidate moved, ascending

struct Followed {
  double log_evidence = 0;
  int answered = 0;             // turns whose factor was above 1
  std::vector<int> delays;      // of those, in bins after the word
  std::vector<std::size_t> at;  // which turns they were
  int up = 0, down = 0;         // of those, how often it rose towards state 1, or fell
};

[[nodiscard]] Followed follow(const History& history, std::span<const Draw> draws);

}  // namespace foundling::touch
