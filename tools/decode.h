#pragma once

#include "tools/command.h"

namespace foundling {

Command decode_command();

}  // namespace foundling
