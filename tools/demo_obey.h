// A rehearsal: the simulated board, in real time, with a hand that does what `foundling bench run`
// asks for. Its frames go onto a CAN interface that was named, for foundlingd to record, or, where
// the kernel has no CAN, straight into a new capture as a recorder would write it.
#pragma once

#include <cstdint>
#include <string>

#include "schemas/values/result.h"
#include "tools/board/board.h"

namespace foundling {

struct ObeyOptions {
  std::string capture;    // whose walk is obeyed; without an interface a new one
  std::string interface;  // empty: none
  bool bus_is_mine = false;
  board::BoardOptions board;
};

struct Obeyed {
  std::uint64_t frames = 0;
  double seconds = 0;
};

// Until a signal.
[[nodiscard]] Result<Obeyed> obey(const ObeyOptions& options);

}  // namespace foundling
