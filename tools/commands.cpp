#include "tools/command.h"

#include <array>

#include "tools/demo.h"

namespace foundling {

std::span<const Command> commands() {
  static const std::array all{
      demo_command(),
  };
  return all;
}

}  // namespace foundling
