// `foundling live`: the values of the running recording, to a broker and to a metrics collector.
#pragma once

#include "tools/command.h"

namespace foundling {

Command live_command();

}  // namespace foundling
