#include "tests/bench/recovery/foreign.h"

#include <cmath>
#include <cstdio>

namespace foundling::recovery {

Session another_session(const Session& session, const Recipe& recipe, Rng& rng) {
  std::vector<PlanItem> items;
  for (const DraftChannel& channel : session.channels) {
    if (channel.item < 0) continue;
    const Quantity& q = session.quantities[static_cast<std::size_t>(channel.quantity)];
    items.push_back({q.low, q.high, channel.levels, !channel.words.empty(), -1});
  }
  return play_again(session, recipe, draw_plan(items, recipe, rng), rng);
}

void shift_readings(RandomBoard& board, Rng& rng) {
  const double shift_s = rng.uniform(7, 45) * (rng.chance(0.5) ? 1 : -1);
  const std::int64_t shift_ns = std::llround(shift_s * 1e9);
  for (std::size_t c = 0; c < board.channels.size(); ++c) {
    std::vector<Reading>& readings = board.channels[c].readings;
    for (Reading& reading : readings) reading.t_ns += shift_ns;
    std::erase_if(readings, [](const Reading& reading) { return reading.t_ns < 0; });
  }
  char text[60];
  std::snprintf(text, sizeof text, "readings moved by %+.1f s", shift_s);
  board.truth.disturbance = text;
}

void forget_fields(Truth& truth) {
  for (TrueChannel& channel : truth.channels) {
    channel.fields.clear();
    channel.also.clear();
    channel.excited = false;
    for (const Reading& reading : channel.honest) channel.doubtful.push_back(reading.id);
  }
  truth.confounded.clear();
  truth.computed.clear();
  truth.others.clear();
}

}  // namespace foundling::recovery
