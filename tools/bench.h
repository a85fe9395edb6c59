// The command `foundling bench`; its help pages say what it takes.
#pragma once

#include "tools/command.h"

namespace foundling {

Command bench_command();

}  // namespace foundling
