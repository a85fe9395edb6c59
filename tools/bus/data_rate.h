// From what was heard with CAN FD switched on to the rate of its data. Pure.
#pragma once

#include <cstdint>
#include <span>

#include "tools/bus/bus_finding.h"

namespace foundling {

// What one listening with FD says of its data rate.
enum class DataHeard : std::uint8_t {
  right_rate,    // frames came in that switch to it, and few failed
  failing,       // such came in, but more than one frame in ten fails
  not_switched,  // FD frames came in, none of which switches, and nothing failed
  errors,        // frames fail, and none came in that switches
  nothing,       // no FD frame, no error
};
[[nodiscard]] DataHeard judge_data(const Listening& heard);

// What all of them say together.
struct DataRate {
  DataHeard heard = DataHeard::nothing;
  const Listening* best = nullptr;  // of right_rate, failing, not_switched
  std::uint64_t errors = 0;         // the fewest at any of the rates
  int listenings = 0;               // 0: nothing was listened to with FD
};
// Of the listenings at this bit rate; 0: of all.
[[nodiscard]] DataRate data_rate_of(std::span<const Listening> tried, std::uint32_t bit_rate);

}  // namespace foundling
