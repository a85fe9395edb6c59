// The quantities of a board in one bench session: what was moved, what moved by itself, what the
// board computes, and the readings that were written down.
#pragma once

#include <string>
#include <vector>

#include "schemas/values/reading.h"
#include "tests/bench/recovery/plan.h"
#include "tests/bench/recovery/quantities.h"
#include "tests/bench/recovery/recipe.h"

namespace foundling::recovery {

struct DraftChannel {  // a channel of the bench
  int quantity = 0;    // index into Session::quantities
  int item = -1;       // index into the plan; -1 for a sample channel
  ChannelKind kind = ChannelKind::hold;
  bool sent = true;  // the board has a field for it
  int levels = 0;
  std::vector<std::string> words;  // of a state channel
  double uncertainty = 0;
  double gain = 1;  // of the instrument
  double zero = 0;
};

enum class Origin { moved, still, decoy, computed, machine };

struct Session {
  std::vector<Quantity> quantities;
  std::vector<Origin> origins;  // one a quantity
  std::vector<bool> sent;       // one a quantity
  std::vector<DraftChannel> channels;
  std::vector<std::vector<std::size_t>> confounded;  // by channel index, as planned
  std::vector<std::pair<int, int>> machine_of;  // quantities: a state machine, the switch behind it
  Plan plan;
};

[[nodiscard]] Session draw_session(const Recipe& recipe, Rng& rng);

// The same board on the bench again, stimulated by another plan: an item for each channel that is
// set, in their order. What nobody sets goes its own way anew; no channel follows another.
[[nodiscard]] Session play_again(const Session& session, const Recipe& recipe, Plan plan, Rng& rng);

[[nodiscard]] ChannelSeries write_down(const Session& session, const DraftChannel& channel,
                                       const Recipe& recipe, Rng& rng);

}  // namespace foundling::recovery
