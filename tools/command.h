// A subcommand of `foundling`: its name, its line in the overview, and how it declares its options.
#pragma once

#include <functional>
#include <span>
#include <string_view>

namespace foundling {

class CommandLine;

// Exit statuses: data on stdout, messages on stderr.
inline constexpr int exit_good = 0;
inline constexpr int exit_findings = 1;  // a failed check, no proposal
inline constexpr int exit_trouble = 2;   // usage or I/O

struct Command {
  std::string_view name;
  std::string_view summary;
  // Declares options and positionals on `app` and returns what to run once they are parsed.
  // The returned function yields the exit status.
  std::function<int()> (*declare)(CommandLine app);
};

// Every command of the program, in the order of the overview. One `Command x_command()` a file.
std::span<const Command> commands();

}  // namespace foundling
