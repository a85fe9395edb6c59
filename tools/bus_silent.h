// The verb `foundling bus silent`; its help page says what it takes.
#pragma once

#include <functional>

namespace CLI {
class App;
}

namespace foundling {

// `chosen` is what to run once this verb was parsed; yields the exit status.
void declare_bus_silent(CLI::App& app, std::function<int()>& chosen);

}  // namespace foundling
