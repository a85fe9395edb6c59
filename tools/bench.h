// The command `foundling bench`; its help pages say what it takes. One function a verb, each in a
// file of its own.
#pragma once

#include <functional>

#include "tools/command.h"

namespace foundling {

// What the parsed verb wants to run; yields the exit status.
using BenchRun = std::function<int()>;

void declare_bench_plan(CommandLine app, BenchRun& chosen);
void declare_bench_next(CommandLine app, BenchRun& chosen);
void declare_bench_check(CommandLine app, BenchRun& chosen);
void declare_bench_touch(CommandLine app, BenchRun& chosen);

Command bench_command();

}  // namespace foundling
