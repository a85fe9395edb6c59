// What the system knows of a network interface by its name.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

namespace foundling {

struct InterfaceState {
  unsigned index = 0;  // 0: there is no interface of that name
  bool is_can = false;
  bool is_up = false;
  bool off_bus = false;       // the controller has left the bus
  std::string controller{};   // its state and error counters in words; empty: none is told
  std::uint64_t dropped = 0;  // frames for which the kernel had no room, since it was made

  [[nodiscard]] bool exists() const { return index != 0; }
};

using ProbeInterface = std::function<InterfaceState()>;

[[nodiscard]] InterfaceState probe_interface(const std::string& name);  // without the controller
[[nodiscard]] std::vector<std::string> can_interfaces();  // names of all CAN interfaces

// The command that switches the interface on; bit_rate 0: not known, an example is put in.
[[nodiscard]] std::string command_to_bring_up(const std::string& name, long long bit_rate);

}  // namespace foundling
