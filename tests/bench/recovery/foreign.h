// Readings that do not belong to their frames: of another session of the same board, or moved in
// time. Whatever is found in them is wrong.
#pragma once

#include "tests/bench/recovery/random_board.h"
#include "tests/bench/recovery/session.h"

namespace foundling::recovery {

// Another session of the same board, for the readings; the frames stay with the first.
[[nodiscard]] Session another_session(const Session& session, const Recipe& recipe, Rng& rng);

// Moves all readings by 7 to 45 s to either side.
void shift_readings(RandomBoard& board, Rng& rng);

// Nothing that the board sends carries any channel.
void forget_fields(Truth& truth);

}  // namespace foundling::recovery
