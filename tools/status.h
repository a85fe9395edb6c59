// `foundling status`: how the recording of a capture fares.
#pragma once

#include "tools/command.h"

namespace foundling {

Command status_command();

}  // namespace foundling
