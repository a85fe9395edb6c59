#pragma once

#include "tools/command.h"

namespace foundling {

Command signals_command();

}  // namespace foundling
