// What the kernel says of a network interface that frames are to be sent on.
#pragma once

#include <string>

#include "schemas/values/result.h"

namespace foundling {

struct CanInterface {
  std::string name;
  unsigned index = 0;
  std::string kind;  // the kernel's link kind: "vcan", "vxcan", "can"; empty if none
  bool up = false;

  // Frames on it reach no wire.
  [[nodiscard]] bool is_virtual() const { return kind == "vcan" || kind == "vxcan"; }
};

// An error when there is no such interface, or it is not a CAN interface.
[[nodiscard]] Result<CanInterface> find_can_interface(const std::string& name);

}  // namespace foundling
