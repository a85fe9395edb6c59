// What the recorder has to know of a CAN interface, by its name, as the kernel tells it now.
#pragma once

#include <cstdint>
#include <functional>
#include <string>

#include "schemas/values/result.h"

namespace foundling {

struct InterfaceState {
  unsigned index = 0;  // 0: there is no CAN interface of that name
  bool is_up = false;
  bool off_bus = false;       // the controller has left the bus
  std::string controller{};   // its state and error counters in words; empty: none is told
  std::uint64_t dropped = 0;  // frames for which the kernel had no room, since it was made

  [[nodiscard]] bool exists() const { return index != 0; }
};

using ProbeInterface = std::function<InterfaceState()>;

[[nodiscard]] InterfaceState probe_interface(const std::string& name);

// Puts a controller that left the bus back on it. Needs CAP_NET_ADMIN.
Result<void> restart_controller(const std::string& name);

// The command that switches the interface on; bit_rate 0: not known, an example is put in.
[[nodiscard]] std::string command_to_bring_up(const std::string& name, long long bit_rate);

}  // namespace foundling
