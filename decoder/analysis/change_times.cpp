#include "decoder/analysis/change_times.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

#include "decoder/analysis/description.h"
#include "decoder/analysis/observation_priors.h"
#include "decoder/analysis/plateau_points.h"

namespace foundling {
namespace {

constexpr double never = std::numeric_limits<double>::infinity();

struct State {  // a reading that the board may be showing
  std::size_t reading;
  std::int64_t stamp_ns;
  std::int64_t earliest_ns;  // may be shown from here on
  std::int64_t latest_ns;    // and begins before
  double expected;           // raw
  double before;             // the same of the reading before; of the first its own
};

std::int64_t ns(double seconds) { return static_cast<std::int64_t>(seconds * 1e9); }

std::vector<State> states_of(const ChannelSeries& channel, const RoughLine& line) {
  std::vector<State> states;
  for (std::size_t i = 0; i < channel.readings.size(); ++i) {
    const Reading& r = channel.readings[i];
    if (!std::isfinite(r.value)) continue;
    const std::int64_t earliest =
        r.earliest_ns != Reading::no_time ? r.earliest_ns : r.t_ns - ns(most_lateness_s);
    const double expected = line.intercept + line.slope * r.value;
    const double before = states.empty() ? expected : states.back().expected;
    states.push_back({i, r.t_ns, earliest, r.t_ns + ns(most_board_lag_s), expected, before});
  }
  return states;
}

// Nats for a beginning so long before or after the stamp. Where nothing else tells, the nearest to
// what is usual is the best guess.
double lateness_cost(std::int64_t begins_ns, std::int64_t stamp_ns, double usual_s) {
  const double after_s = static_cast<double>(begins_ns - stamp_ns) * 1e-9;
  const double away = far_from_usual_cost * std::abs(after_s - usual_s);
  if (after_s >= 0) return away;
  return away + (after_s >= -usual_lateness_s ? late_cost : very_late_cost);
}

// The cheapest path; for each state the index of the first frame that shows it. A path goes through
// two places a state: on its way to the level, and there.
class Sharing {
 public:
  Sharing(const FieldTrack& track, const std::vector<State>& states, double sd, double usual_s,
          bool believed)
      : track_(track),
        states_(states),
        sd_(sd),
        usual_s_(usual_s),
        between_cost_(believed ? way_frame_cost : odd_frame_cost),
        width_(2 * states.size() + 1) {}

  std::vector<std::size_t> first_frames() {
    const std::size_t frames = track_.times.size();
    begins_.assign(frames * width_, 0);
    // Place 0: none of the readings yet.
    std::vector<double> cost(width_, never);
    cost[0] = 0;
    std::size_t low = 0;
    for (std::size_t f = 0; f < frames; ++f) {
      const std::int64_t t = track_.times[f];
      // The state after that of the lowest place: it begins by now at the latest.
      while (low + 2 < width_ && states_[(low + 1) / 2].latest_ns < t) {
        enter(f, low + 1, t, cost);
        cost[low++] = never;
      }
      std::size_t k = low;
      for (; k < width_; ++k) {
        if (k > 0 && t < state_of(k).earliest_ns) break;
        if (k > low) enter(f, k, t, cost);
      }
      for (std::size_t s = low; s < k; ++s) cost[s] += frame_cost(track_.raw[f], s);
    }
    return trace_back(cost);
  }

 private:
  [[nodiscard]] static bool is_way(std::size_t place) { return place % 2 == 1; }
  [[nodiscard]] const State& state_of(std::size_t place) const { return states_[(place - 1) / 2]; }

  void enter(std::size_t f, std::size_t k, std::int64_t t, std::vector<double>& cost) {
    const double price = is_way(k) ? lateness_cost(t, state_of(k).stamp_ns, usual_s_) : 0;
    if (cost[k - 1] + price >= cost[k]) return;
    cost[k] = cost[k - 1] + price;
    begins_[f * width_ + k] = 1;
  }
  [[nodiscard]] double frame_cost(double raw, std::size_t place) const {
    if (place == 0) return unknown_frame_cost;
    const State& state = state_of(place);
    if (is_way(place)) {
      const bool between = (raw - state.before) * (state.expected - raw) > 0;
      return between ? between_cost_ : odd_frame_cost;
    }
    const double z = (raw - state.expected) / sd_;
    return std::min(z * z / 2, odd_frame_cost);
  }
  [[nodiscard]] std::vector<std::size_t> trace_back(const std::vector<double>& cost) const {
    const std::size_t frames = track_.times.size();
    std::vector<std::size_t> first(states_.size(), frames);
    auto k = static_cast<std::size_t>(std::min_element(cost.begin(), cost.end()) - cost.begin());
    for (std::size_t f = frames; f-- > 0;) {
      for (; k > 0 && begins_[f * width_ + k] != 0; --k) {
        if (is_way(k)) first[(k - 1) / 2] = f;
      }
    }
    return first;
  }

  const FieldTrack& track_;
  const std::vector<State>& states_;
  double sd_;
  double usual_s_;
  double between_cost_;
  std::size_t width_;
  std::vector<std::uint8_t> begins_;
};

// The middle value of the later part, in which the board has settled.
double settled_level(const FieldTrack& track, std::size_t from, std::size_t to) {
  if (from >= to) return std::numeric_limits<double>::quiet_NaN();
  const std::size_t begin = from + (to - from) / 2;
  return median_of({track.raw.begin() + static_cast<std::ptrdiff_t>(begin),
                    track.raw.begin() + static_cast<std::ptrdiff_t>(to)});
}

}  // namespace

FieldTrack field_track(const Stream& stream, const Span& span, Coding coding, std::size_t most) {
  FieldTrack track;
  CodedFrames frames;
  const std::size_t stride = stream.bits.frames() / most + 1;
  for (std::size_t i = 0; i < stream.bits.frames(); i += stride) {
    frames.frame.push_back(i);
    track.times.push_back(stream.bits.times()[i]);
  }
  track.raw = coded_values(stream, frames, span, coding);
  // From the steps between neighbours, most of which are no change of level.
  std::vector<double> steps;
  for (std::size_t i = 1; i < track.raw.size(); ++i) {
    steps.push_back(std::abs(track.raw[i] - track.raw[i - 1]));
  }
  track.noise = 1.4826 * median_of(std::move(steps)) / std::sqrt(2.0);
  return track;
}

std::vector<Shown> change_times(const FieldTrack& track, const ChannelSeries& channel,
                                const RoughLine& line, double usual_s, bool believed) {
  const std::vector<State> states = states_of(channel, line);
  if (states.empty() || states.size() > most_typed_readings || track.times.size() < 8) return {};
  const double sd = std::max({std::hypot(line.sd, track.noise), 0.6});
  const std::vector<std::size_t> first =
      Sharing(track, states, sd, usual_s, believed).first_frames();
  const std::size_t frames = track.times.size();
  const auto time_of = [&](std::size_t f) {
    if (f >= frames) return track.times.back() + 1;
    return f == 0 ? track.times[0] : track.times[f - 1] + (track.times[f] - track.times[f - 1]) / 2;
  };
  std::vector<Shown> out;
  for (std::size_t k = 0; k < states.size(); ++k) {
    const std::size_t end = k + 1 < states.size() ? first[k + 1] : frames;
    Shown shown;
    shown.reading = states[k].reading;
    shown.from_ns = time_of(first[k]);
    shown.to_ns = time_of(end);
    shown.expected = states[k].expected;
    shown.frames = end > first[k] ? end - first[k] : 0;
    shown.level = settled_level(track, first[k], end);
    const double step = k > 0 ? std::abs(states[k].expected - states[k - 1].expected) : 0;
    shown.sharp = step > sharp_step * sd && first[k] > 0 && first[k] < frames;
    out.push_back(shown);
  }
  return out;
}

}  // namespace foundling
