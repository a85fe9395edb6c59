// `foundling relate`: relations that hold among the fields of a session, and with a few readings of
// the whole the cells behind them.
#pragma once

#include "tools/command.h"

namespace foundling {

Command relate_command();

}  // namespace foundling
