// `foundling check`: a signal map held against a session that it was not made from.
#pragma once

#include "tools/command.h"

namespace foundling {

Command check_command();

}  // namespace foundling
