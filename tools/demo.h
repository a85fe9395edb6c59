#pragma once

#include "tools/command.h"

namespace foundling {

Command demo_command();

}  // namespace foundling
