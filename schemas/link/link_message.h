// Reads the kernel's description of CAN interfaces.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "schemas/link/can_link.h"
#include "schemas/values/result.h"

namespace foundling {

// One RTM_NEWLINK message with its header. Nothing: it is no CAN interface, or cut short.
[[nodiscard]] std::optional<CanLink> read_link_message(std::span<const char> message);

[[nodiscard]] Result<std::vector<CanLink>> can_links();
// An error when there is no such interface, or it is not a CAN interface.
[[nodiscard]] Result<CanLink> can_link(const std::string& name);

}  // namespace foundling
