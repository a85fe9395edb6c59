// What of a session can be found at all: settings that the board showed and the hand wrote down
// right. Where something hides too much of a channel, nobody can be asked to find it.
#pragma once

#include <vector>

#include "tests/bench/recovery/random_board.h"

namespace foundling::recovery {

// One for each honest reading of channel `c`: whether that field showed the setting, settled, in
// three ordinary frames or more, and the reading stands in its own channel and is right.
[[nodiscard]] std::vector<bool> usable_settings(const RandomBoard& board, std::size_t c,
                                                const TrueField& field);

}  // namespace foundling::recovery
