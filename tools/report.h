// `foundling report`: a session as one HTML page with plots, for a browser without a network.
#pragma once

#include "tools/command.h"

namespace foundling {

Command report_command();

}  // namespace foundling
