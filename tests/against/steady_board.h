// Sessions in which nobody touches anything, for the tests of what differs: random boards of the
// recovery bench whose plan sets each channel once, and the invented tractor at rest.
#pragma once

#include <cstdint>
#include <vector>

#include "decoder/against/against.h"
#include "tests/bench/recovery/random_board.h"

namespace foundling::test {

using Messages = std::vector<MessageSeries>;

struct SteadyBoard {
  Messages messages;
  recovery::Truth truth;
};
[[nodiscard]] SteadyBoard steady_board(recovery::Family family, std::uint64_t seed,
                                       double duration_s);
// The invented tractor's board, powered up long ago.
[[nodiscard]] Messages steady_tractor(std::uint64_t seed, double duration_s);

// The frames before and from that share of the time on.
[[nodiscard]] std::pair<Messages, Messages> cut(const Messages& messages, double share);

[[nodiscard]] Against held(const Messages& a, const Messages& b);

}  // namespace foundling::test
