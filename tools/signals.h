// `foundling signals`: check, format and list signal maps.
#pragma once

#include "tools/command.h"

namespace foundling {

Command signals_command();

}  // namespace foundling
