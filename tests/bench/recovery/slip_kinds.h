// What a wrong reading can be taken for. One value may have come about in several ways: the value
// before may also be the neighbour's.
#pragma once

#include <cstddef>
#include <string>

#include "tests/bench/recovery/random_board.h"

namespace foundling::recovery {

// Whether a slip of that kind would have given that reading of channel `c`, within the meter's
// error. False for `digits`, which would need what was on the meter, and for `unfit`.
[[nodiscard]] bool could_be(Slip kind, const RandomBoard& board, std::size_t c,
                            const Reading& reading);

// What channel `c` stood at then, by an honest hand; null ahead of its first reading.
[[nodiscard]] const Reading* standing_at(const RandomBoard& board, std::size_t c,
                                         std::int64_t t_ns);

[[nodiscard]] std::string word_of(Slip kind);

}  // namespace foundling::recovery
