#include "tests/bench/recovery/hand.h"

#include <algorithm>
#include <cmath>

namespace foundling::recovery {
namespace {

constexpr double usual_lateness_s = 5;
constexpr double one_in_ten = 0.1;
constexpr double least_between_entries_s = 0.2;  // of one channel, from one Enter to the next

double draw_lateness(Family family, Rng& rng) {
  if (family == Family::very_late && rng.chance(one_in_ten)) return rng.uniform(-0.5, 20);
  return rng.uniform(0, usual_lateness_s);
}

void delay(Family family, ChannelSeries& series, TrueChannel& truth, Rng& rng) {
  double typed_before = -least_between_entries_s;
  for (std::size_t i = 0; i < series.readings.size(); ++i) {
    Reading& reading = series.readings[i];
    const double changed = static_cast<double>(truth.honest[i].t_ns) * 1e-9;
    const double typed =
        std::max(changed + draw_lateness(family, rng), typed_before + least_between_entries_s);
    if (family == Family::prompted) {
      const double asked = std::max({0.0, typed_before, changed - rng.uniform(0.2, 4)});
      reading.earliest_ns = std::llround(asked * 1e9);
    }
    reading.t_ns = std::llround(typed * 1e9);
    // Typed when the next level stood already: true of a moment that is not its own.
    const bool is_last = i + 1 == series.readings.size();
    if (!is_last && reading.t_ns >= truth.honest[i + 1].t_ns) truth.doubtful.push_back(reading.id);
    typed_before = typed;
  }
}

}  // namespace

void delay_readings(Family family, RandomBoard& board, Rng& rng) {
  if (family < Family::late_hand || family > Family::prompted) return;
  for (std::size_t c = 0; c < board.channels.size(); ++c) {
    if (board.channels[c].channel.kind != ChannelKind::hold) {  // it waits for nobody
      if (family != Family::prompted) continue;
      for (Reading& reading : board.channels[c].readings) reading.earliest_ns = reading.t_ns;
      continue;
    }
    delay(family, board.channels[c], board.truth.channels[c], rng);
  }
}

}  // namespace foundling::recovery
