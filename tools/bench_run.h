// The verb `foundling bench run`; its help page says what it takes.
#pragma once

#include <functional>

namespace CLI {
class App;
}

namespace foundling {

// `chosen` is what to run once this verb was parsed; yields the exit status.
void declare_bench_run(CLI::App& app, std::function<int()>& chosen);

}  // namespace foundling
