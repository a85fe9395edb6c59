// The command `foundling import`; its help page says what it takes.
#pragma once

#include "tools/command.h"

namespace foundling {

Command import_command();

}  // namespace foundling
