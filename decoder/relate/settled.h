// Windows in which nothing of what is compared is on its way, and the differences between them.
// Parts of a pack are measured at their own times and through their own low-passes; while they rest
// none of that matters. Where everything moves all the time, the quieter half is taken.
#pragma once

#include <cstddef>
#include <span>
#include <utility>
#include <vector>

#include "decoder/relate/tracks.h"

namespace foundling::relate {

// How much a track moves about each window beyond what noise does to it, in units of its usual
// motion; not a number at gaps. What moves all the time moves beyond that nowhere.
[[nodiscard]] Track motion_of(const Track& track);

// Adds another's motion to one's; a gap in either is a gap.
void join_motion(Track& one, const Track& other);

// Pairs of successive settled windows: those without motion, or the quieter half.
using Steps = std::vector<std::pair<std::uint32_t, std::uint32_t>>;
[[nodiscard]] Steps settled_steps(const Track& motion);

// A track's differences over the steps.
[[nodiscard]] std::vector<double> differences(const Track& track, const Steps& steps);

}  // namespace foundling::relate
