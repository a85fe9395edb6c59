// Completion scripts for shells, from the tree of commands: subcommands, options, the words that an
// option takes, and file names everywhere else.
#pragma once

#include <string>

#include "tools/command_tree.h"

namespace foundling {

[[nodiscard]] std::string bash_completion(const CommandEntry& program);
[[nodiscard]] std::string zsh_completion(const CommandEntry& program);
[[nodiscard]] std::string fish_completion(const CommandEntry& program);

}  // namespace foundling
