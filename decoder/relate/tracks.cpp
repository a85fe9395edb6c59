#include "decoder/relate/tracks.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace foundling::relate {
namespace {

constexpr double shortest_window_s = 0.5;
constexpr double most_windows = 6000;
constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

struct Window {
  double sum = 0;
  double last = nothing;
  int codes = 0;
};

std::vector<Window> windows_of(const MessageSeries& message, const Field& field, const Grid& grid) {
  std::vector<Window> windows(grid.windows);
  const std::vector<double> codes = codes_of(message, field);
  for (std::size_t i = 0; i < codes.size(); ++i) {
    if (std::isnan(codes[i])) continue;
    const double at =
        static_cast<double>(message.t_ns[field.rows[i]] - grid.start_ns) * 1e-9 / grid.window_s;
    Window& window =
        windows[std::min(static_cast<std::size_t>(std::max(at, 0.0)), grid.windows - 1)];
    window.sum += codes[i];
    window.last = codes[i];
    ++window.codes;
  }
  return windows;
}

// Each window's own value, or the last one while it is no older than the field's silences.
template <typename Value>
Track held(const std::vector<Window>& windows, const Field& field, const Grid& grid, Value value) {
  const auto longest = static_cast<std::size_t>(std::ceil(3 * field.silence_s / grid.window_s));
  Track track(windows.size(), nothing);
  double last = nothing;
  std::size_t age = 0;
  for (std::size_t w = 0; w < windows.size(); ++w) {
    if (windows[w].codes > 0) {
      last = value(windows[w]);
      age = 0;
    } else if (++age > longest) {
      last = nothing;
    }
    track[w] = last;
  }
  return track;
}

}  // namespace

Grid grid_of(std::span<const MessageSeries> messages) {
  std::int64_t first = std::numeric_limits<std::int64_t>::max();
  std::int64_t last = std::numeric_limits<std::int64_t>::min();
  for (const MessageSeries& message : messages) {
    if (message.size() == 0) continue;
    first = std::min(first, message.t_ns.front());
    last = std::max(last, message.t_ns.back());
  }
  if (last <= first) return {};
  const double seconds = static_cast<double>(last - first) * 1e-9;
  const double window = std::max(shortest_window_s, seconds / most_windows);
  return {first, window, static_cast<std::size_t>(seconds / window) + 1};
}

Track track_of(const MessageSeries& message, const Field& field, const Grid& grid) {
  return held(windows_of(message, field, grid), field, grid,
              [](const Window& window) { return window.sum / window.codes; });
}

Track last_codes(const MessageSeries& message, const Field& field, const Grid& grid) {
  return held(windows_of(message, field, grid), field, grid,
              [](const Window& window) { return window.last; });
}

}  // namespace foundling::relate
