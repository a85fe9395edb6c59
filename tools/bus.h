// `foundling bus`: CAN interfaces, their bit rate, and what is wrong with the bus.
#pragma once

#include "tools/command.h"

namespace foundling {

Command bus_command();

}  // namespace foundling
