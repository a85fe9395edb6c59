// Manual pages (man(7) macros) from the tree of commands, one a command: foundling.1,
// foundling-decode.1, foundling-signals-check.1 ...
#pragma once

#include <string>
#include <vector>

#include "tools/command_tree.h"

namespace foundling {

struct ManualPage {
  std::string file;
  std::string text;
};

[[nodiscard]] std::vector<ManualPage> manual_pages(const CommandEntry& program,
                                                   const std::string& version);

}  // namespace foundling
