// `foundling completion` and `foundling manual`: what the program knows of its own command line,
// for shells and for man.
#pragma once

#include "tools/command.h"

namespace foundling {

Command completion_command();
Command manual_command();

}  // namespace foundling
