// The verb `foundling bench run`; its help page says what it takes.
#pragma once

#include <functional>

namespace foundling {

class CommandLine;

// `chosen` is what to run once this verb was parsed; yields the exit status.
void declare_bench_run(CommandLine app, std::function<int()>& chosen);

}  // namespace foundling
