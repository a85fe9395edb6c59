// The command `foundling stimulus`; its help page says what it takes.
#pragma once

#include "tools/command.h"

namespace foundling {

Command stimulus_command();

}  // namespace foundling
