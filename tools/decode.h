// `foundling decode`: a capture's frames through a signal map, as numbers.
#pragma once

#include "tools/command.h"

namespace foundling {

Command decode_command();

}  // namespace foundling
