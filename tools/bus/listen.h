// Hears what comes in on an interface for a while. Never sends.
#pragma once

#include <chrono>
#include <functional>

#include "schemas/link/can_link.h"
#include "schemas/values/result.h"
#include "tools/bus/bus_finding.h"

namespace foundling {

// The interface must be up. `heard` comes empty, with the rates that it is set to. Stops early once
// the verdict can no longer change for the better, or when `stopped` says so.
Result<Listening> listen_to(const CanLink& link, Listening heard,
                            std::chrono::milliseconds how_long,
                            const std::function<bool()>& stopped);

}  // namespace foundling
