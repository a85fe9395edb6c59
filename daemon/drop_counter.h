// Turns the kernel's 32-bit running drop counter of a socket into drops since the last look.
// The same counter comes with frames (SO_RXQ_OVFL) and on request (SO_MEMINFO), so looks at both
// may be mixed. A look that is older than the last one (a frame queued before it) adds nothing.
#pragma once

#include <cstdint>

namespace foundling {

class DropCounter {
 public:
  std::uint64_t advance(std::uint32_t counter) {
    const std::uint32_t ahead = counter - seen_;      // modulo 2^32, so a wrap is a small step
    if (ahead == 0 || ahead > 0x7FFFFFFFU) return 0;  // an older look
    seen_ = counter;
    return ahead;
  }
  void restart() { seen_ = 0; }  // a new socket counts from zero

 private:
  std::uint32_t seen_ = 0;
};

}  // namespace foundling
