// `foundling correlate`: which bits answer to which channel, as a table, JSON, or a signal map.
#pragma once

#include "tools/command.h"

namespace foundling {

Command correlate_command();

}  // namespace foundling
