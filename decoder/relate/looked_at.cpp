#include "decoder/relate/looked_at.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "decoder/relate/other_cuts.h"

namespace foundling::relate {
namespace {

// Noise goes down with the number of frames in a window; rounding only where noise dithers it.
double window_error(const Field& field, const Grid& grid) {
  const double frames = std::max(1.0, grid.window_s / std::max(field.period_s, 1e-6));
  const double rounding = field.noise > 0.5 ? 1.0 / 12 / frames : 1.0 / 12;
  return std::sqrt(field.noise * field.noise / frames + rounding);
}

}  // namespace

LookedAt look_at(std::span<const MessageSeries> messages, const Survey& survey) {
  LookedAt seen;
  seen.fields = find_fields(messages, survey);
  std::ranges::move(other_cuts(messages, survey, seen.fields), std::back_inserter(seen.fields));
  seen.grid = grid_of(messages);
  for (const Field& field : seen.fields) {
    seen.tracks.push_back(track_of(messages[field.message], field, seen.grid));
    seen.motions.push_back(motion_of(seen.tracks.back()));
    seen.errors.push_back(window_error(field, seen.grid));
  }
  return seen;
}

Steps steps_of(const LookedAt& seen, std::span<const std::size_t> fields) {
  if (fields.empty()) return {};
  Track motion = seen.motions[fields.front()];
  for (const std::size_t f : fields.subspan(1)) join_motion(motion, seen.motions[f]);
  return settled_steps(motion);
}

}  // namespace foundling::relate
