// What bench plans are worth on random boards: drawn ones against one-at-a-time steps and
// staircases of the same duration, the next plan after a search, and the chance figure by
// redrawing.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/bench/plan.h"
#include "tests/bench/recovery/random_board.h"
#include "tests/bench/recovery/session.h"

namespace foundling::recovery {

enum class Way : std::uint8_t {
  drawn,          // foundling bench plan: all channels at once, balanced, random
  one_at_a_time,  // one channel after the other through its levels in random order
  staircase,      // one channel after the other, upwards in even steps
  row_staircase,  // as a person works down a table: all channels a step up, row by row
};

// What the channels of a session are, as a person would write it for `bench plan`.
[[nodiscard]] bench::Plan head_of(const Session& session, double hold_s);

// A course for the session's channels that takes `duration_s`, every step held for `hold_s`. The
// hand takes no time, so that all ways have as many steps.
[[nodiscard]] Plan course(Way way, const Session& session, double duration_s, double hold_s,
                          std::uint64_t seed);

// A bench plan's steps on this session's channels; those that it does not name stay at rest.
[[nodiscard]] Plan carried_out(const bench::Plan& plan, const Session& session);

struct Identified {
  int channels = 0;  // that the board sends and somebody could set
  int good = 0;      // with a strong proposal of rank 1 at its true place
  int wrong = 0;     // strong proposals of rank 1 at another
};
[[nodiscard]] Identified identify(const RandomBoard& board, const Correlation& answer);

}  // namespace foundling::recovery
