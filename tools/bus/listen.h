// Hears what comes in on an interface for a while. Never sends.
#pragma once

#include <chrono>
#include <string>

#include "schemas/link/can_link.h"
#include "schemas/values/result.h"
#include "tools/bus/bus_finding.h"

namespace foundling {

// The interface must be up. Stops early once the verdict can no longer change for the better.
Result<Listening> listen_to(const CanLink& link, std::uint32_t bit_rate,
                            std::chrono::milliseconds how_long);

}  // namespace foundling
