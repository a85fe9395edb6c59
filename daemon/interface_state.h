// What the system knows of a network interface by its name.
#pragma once

#include <functional>
#include <string>
#include <vector>

namespace foundling {

struct InterfaceState {
  unsigned index = 0;  // 0: there is no interface of that name
  bool is_can = false;
  bool is_up = false;

  [[nodiscard]] bool exists() const { return index != 0; }
};

using ProbeInterface = std::function<InterfaceState()>;

[[nodiscard]] InterfaceState probe_interface(const std::string& name);
[[nodiscard]] std::vector<std::string> can_interfaces();  // names of all CAN interfaces

// The command that switches the interface on; bit_rate 0: not known, an example is put in.
[[nodiscard]] std::string command_to_bring_up(const std::string& name, long long bit_rate);

}  // namespace foundling
