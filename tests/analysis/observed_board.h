// A message and a channel made up for the tests of what frames and readings may be: a field that
// steps with the bench, with whatever is wrong planted on top. All invented, all seeded.
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "decoder/analysis/survey.h"
#include "schemas/values/frame.h"
#include "schemas/values/reading.h"

namespace foundling::test {

struct ObservedBoard {
  std::vector<MessageSeries> messages;
  std::vector<ChannelSeries> channels;  // one: cell_01, 1 mV a code, in 0.7..1.0 of 1A4
  std::vector<double> times_s;          // of the true changes

  [[nodiscard]] std::int64_t end_ns() const { return messages.front().t_ns.back(); }
};

// `levels` steps of `held_s` each at random cell voltages, a frame every 50 ms, no noise but
// rounding. `says`: what the board sends at a time in place of the true code.
ObservedBoard observed_board(std::uint64_t seed, int levels, double held_s,
                             const std::function<std::uint16_t(double, std::uint16_t)>& says = {});

}  // namespace foundling::test
