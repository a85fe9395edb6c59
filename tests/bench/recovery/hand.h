// A hand that is late: typed readings are stamped when they have been typed, not when they became
// true.
#pragma once

#include "tests/bench/recovery/random_board.h"

namespace foundling::recovery {

// Changes nothing for other families. Instruments (sample channels) are not late.
void delay_readings(Family family, RandomBoard& board, Rng& rng);

}  // namespace foundling::recovery
