#include "decoder/relate/board_at_rest.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "decoder/relate/settled.h"

namespace foundling::relate {
namespace {

constexpr double longest_wait_s = 3;      // for the board to rest after a reading
constexpr std::size_t settling = 10;      // windows of a rest, of a short one half
constexpr std::size_t longest_mean = 16;  // windows: what drifts is another level after those
constexpr double beyond_noise = 4;        // standard deviations: one window in 16,000 by accident

}  // namespace

BoardAtRest::BoardAtRest(Track track, const Grid& grid, double error)
    : track_(std::move(track)),
      motion_(motion_of(track_)),
      grid_(grid),
      alike_(beyond_noise * std::sqrt(2.0) * error) {}

double BoardAtRest::at(std::int64_t t_ns, double lag_s) const {
  const double seconds = static_cast<double>(t_ns - grid_.start_ns) * 1e-9 + lag_s;
  const double window = std::floor(seconds / grid_.window_s);
  if (window < 0 || window >= static_cast<double>(track_.size())) {
    return std::numeric_limits<double>::quiet_NaN();
  }
  const auto first = static_cast<std::size_t>(window);
  const auto wait = static_cast<std::size_t>(longest_wait_s / grid_.window_s);
  for (std::size_t w = first; w < std::min(track_.size(), first + wait + 1); ++w) {
    if (rests(w)) return settled(w);
  }
  return track_[first];
}

// What comes later in a rest has settled for longer.
double BoardAtRest::settled(std::size_t w) const {
  std::size_t from = w;
  std::size_t to = w + 1;  // the last one not in it
  while (from > 0 && rests(from - 1)) --from;
  while (to < track_.size() && rests(to)) ++to;
  from += std::min(settling, (to - from) / 2);
  return mean_about(std::max(w, from), from, to);
}

// The nearest windows that say the same but for noise: what always moves rests everywhere by its
// own measure, and only its own window is meant.
double BoardAtRest::mean_about(std::size_t w, std::size_t from, std::size_t to) const {
  double sum = track_[w];
  double n = 1;
  const auto take = [&](std::size_t at) {
    if (!(std::abs(track_[at] - sum / n) <= alike_)) return false;
    sum += track_[at];
    n += 1;
    return true;
  };
  std::size_t low = w;
  std::size_t high = w + 1;
  for (bool grows = true; grows && high - low < longest_mean;) {
    const bool later = high < to && take(high);
    const bool earlier = low > from && take(low - 1);
    high += later ? 1 : 0;
    low -= earlier ? 1 : 0;
    grows = later || earlier;
  }
  return sum / n;
}

}  // namespace foundling::relate
