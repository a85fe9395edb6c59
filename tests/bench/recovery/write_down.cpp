// Readings as a person or an instrument writes them down: with small errors, and on a clock that
// may be off and drift.
#include <algorithm>
#include <cmath>
#include <limits>

#include "tests/bench/recovery/session.h"

namespace foundling::recovery {
namespace {

class Notebook {
 public:
  Notebook(const DraftChannel& channel, const Session& session, const Recipe& recipe, Rng& rng)
      : channel_(channel), recipe_(recipe), rng_(rng), middle_(session.plan.duration_s / 2) {
    stated_ = rng.chance(0.8);
  }

  void note(double t, double value) {
    double stamp = t - recipe_.clock_offset_s - recipe_.clock_drift * (t - middle_);
    if (stamp < 0 && channel_.kind == ChannelKind::sample) return;
    stamp = std::max(stamp, 0.0);  // the setting before the first step
    Reading reading;
    reading.t_ns = std::llround(stamp * 1e9);
    if (!channel_.words.empty()) {
      reading.state = channel_.words[static_cast<std::size_t>(std::lround(value))];
    } else {
      reading.value = value * channel_.gain + channel_.zero + channel_.uncertainty * rng_.normal();
      if (stated_) reading.uncertainty = channel_.uncertainty;
    }
    readings_.push_back(reading);
  }

  std::vector<Reading> take() { return std::move(readings_); }

 private:
  const DraftChannel& channel_;
  const Recipe& recipe_;
  Rng& rng_;
  double middle_;
  bool stated_;
  std::vector<Reading> readings_;
};

}  // namespace

ChannelSeries write_down(const Session& session, const DraftChannel& channel, const Recipe& recipe,
                         Rng& rng) {
  const Quantity& q = session.quantities[static_cast<std::size_t>(channel.quantity)];
  ChannelSeries series;
  series.channel = {q.name, unit_of(q.kind), channel.kind};
  Notebook notebook(channel, session, recipe, rng);
  if (channel.kind == ChannelKind::sample) {
    const double interval = rng.uniform(0.2, 1.0);
    for (double t = 0.5; t < session.plan.duration_s; t += interval * rng.uniform(0.95, 1.05)) {
      notebook.note(t, q.path.at(t));
    }
  } else {
    for (const Change& change : session.plan.changes[static_cast<std::size_t>(channel.item)]) {
      notebook.note(change.t_s + rng.uniform(0, 0.05), change.value);
    }
  }
  series.readings = notebook.take();
  return series;
}

}  // namespace foundling::recovery
