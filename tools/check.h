#pragma once

#include "tools/command.h"

namespace foundling {

Command check_command();

}  // namespace foundling
