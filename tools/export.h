// The command `foundling export`; its help page says what it takes.
#pragma once

#include "tools/command.h"

namespace foundling {

Command export_command();

}  // namespace foundling
