// `foundling survey`: what is on the bus, without any stimulus.
#pragma once

#include "tools/command.h"

namespace foundling {

Command survey_command();

}  // namespace foundling
