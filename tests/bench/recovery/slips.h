// Wrong readings: what a person reads or writes down falsely. The truth keeps which, and how.
#pragma once

#include "tests/bench/recovery/random_board.h"

namespace foundling::recovery {

// Changes nothing for other families. Readings must have their ids, the truth its honest readings.
void plant_slips(Family family, RandomBoard& board, Rng& rng);

// By how much a reading must differ from what the board shows so that frames can tell.
[[nodiscard]] double telling_difference(const TrueChannel& channel);

}  // namespace foundling::recovery
