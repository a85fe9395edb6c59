#include "decoder/relate/settled.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "decoder/relate/middle.h"

namespace foundling::relate {
namespace {

constexpr double beyond_noise = 4;  // of its standard deviations: one window in 16,000 by accident
constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

}  // namespace

Track motion_of(const Track& track) {
  Track motion(track.size(), nothing);
  std::vector<double> known;
  double squares = 0;
  for (std::size_t w = 1; w + 1 < track.size(); ++w) {
    motion[w] = std::abs(track[w + 1] - track[w - 1]);
    if (std::isnan(track[w])) motion[w] = nothing;
    if (std::isnan(motion[w])) continue;
    known.push_back(motion[w]);
    squares += motion[w] * motion[w];
  }
  if (!(squares > 0)) return motion;
  const double scale = std::sqrt(squares / static_cast<double>(known.size()));
  const double noise = usual_size(std::move(known));
  for (double& one : motion) {
    if (!std::isnan(one)) one = std::max(0.0, one - beyond_noise * noise) / scale;
  }
  return motion;
}

void join_motion(Track& one, const Track& other) {
  for (std::size_t w = 0; w < one.size(); ++w) one[w] += other[w];
}

Steps settled_steps(const Track& motion) {
  std::vector<double> known = motion;
  std::erase_if(known, [](double m) { return std::isnan(m); });
  if (known.size() < 8) return {};
  const double bound = middle(std::move(known));
  Steps steps;
  std::size_t last = motion.size();
  for (std::size_t w = 0; w < motion.size(); ++w) {
    if (!(motion[w] <= bound)) continue;
    if (last < motion.size()) {
      steps.emplace_back(static_cast<std::uint32_t>(last), static_cast<std::uint32_t>(w));
    }
    last = w;
  }
  return steps;
}

std::vector<double> differences(const Track& track, const Steps& steps) {
  std::vector<double> out;
  out.reserve(steps.size());
  for (const auto& [from, to] : steps) out.push_back(track[to] - track[from]);
  return out;
}

}  // namespace foundling::relate
