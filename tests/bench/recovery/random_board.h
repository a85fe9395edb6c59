// Random boards for the recovery bench: a bus recording, bench readings and the truth behind them,
// all from a family and a seed. All of it is invented. Shares nothing with the demo board.
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/reading.h"
#include "tests/bench/recovery/family.h"
#include "tests/bench/recovery/truth.h"

namespace foundling::recovery {

struct RandomBoard {
  std::vector<MessageSeries> messages;  // by bus, then standard before extended, then number
  std::vector<ChannelSeries> channels;
  Truth truth;
};

[[nodiscard]] RandomBoard make_board(Family family, std::uint64_t seed);

struct Session;
struct Plan;
struct Recipe;

// The board of that family and seed, in another session: `replan` sees the first one and says what
// is set when (play_again in session.h).
using Replan = std::function<Plan(const Session&, const Recipe&)>;
[[nodiscard]] RandomBoard make_board(Family family, std::uint64_t seed, const Replan& replan);

}  // namespace foundling::recovery
