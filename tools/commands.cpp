#include <array>

#include "tools/check.h"
#include "tools/command.h"
#include "tools/decode.h"
#include "tools/demo.h"
#include "tools/signals.h"

namespace foundling {

std::span<const Command> commands() {
  static const std::array all{
      signals_command(),
      check_command(),
      decode_command(),
      demo_command(),
  };
  return all;
}

}  // namespace foundling
