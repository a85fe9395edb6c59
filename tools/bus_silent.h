// The verb `foundling bus silent`; its help page says what it takes.
#pragma once

#include <functional>

namespace foundling {

class CommandLine;

// `chosen` is what to run once this verb was parsed; yields the exit status.
void declare_bus_silent(CommandLine app, std::function<int()>& chosen);

}  // namespace foundling
