// What a person is told before a plan and before walking through it. Facts of the trade: common
// practice, no source; local codes come first.
#pragma once

#include <string_view>

namespace foundling::bench {

inline constexpr std::string_view cautions =
    "A traction pack can kill and burn, also when it is called empty. Work on it is for licensed "
    "or trained people, under the codes of the place where they work; where a local code and this "
    "text differ, the code is right. Feed the board from current-limited supplies, with the pack's "
    "high-voltage path open: service disconnect out, contactors without coil supply, stand-ins for "
    "cells isolated. Have a second person and a plan for fire. The limits in this plan are yours: "
    "check them against cell, sensor and board before the first step, and stop at the first sign "
    "of smoke, heat or a value that should not be.";

}  // namespace foundling::bench
