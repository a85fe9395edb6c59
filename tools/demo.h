// `foundling demo`: the simulated board's bench session, into a capture, into CSV, or onto a bus.
// The only part of Foundling that ever transmits, and only onto an interface that was named.
#pragma once

#include "tools/command.h"

namespace foundling {

Command demo_command();

}  // namespace foundling
