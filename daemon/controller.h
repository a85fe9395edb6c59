// The CAN controller behind an interface as its driver tells, and how to get it back on the bus.
#pragma once

#include <cstdint>
#include <string>

#include "schemas/values/result.h"

namespace foundling {

struct ControllerState {
  bool off_bus = false;
  std::string words;  // "error passive, error counters: transmit 130, receive 0"; empty: none
  // Of the interface since it was made: frames for which the kernel had no room.
  std::uint64_t dropped = 0;
};

// All empty for a name that is no interface; no words for a virtual one.
[[nodiscard]] ControllerState probe_controller(const std::string& interface);

// Needs CAP_NET_ADMIN; refused while the kernel restarts it by itself.
Result<void> restart_controller(const std::string& interface);

}  // namespace foundling
