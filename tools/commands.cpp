#include <array>

#include "tools/command.h"
#include "tools/demo.h"

namespace foundling {

std::span<const Command> commands() {
  static const std::array all{
      demo_command(),
  };
  return all;
}

}  // namespace foundling
