// Sets a CAN interface up and takes it down. Sends no frame. Needs the right to configure network
// interfaces (CAP_NET_ADMIN); an error says how to get it.
#pragma once

#include <cstdint>
#include <string>

#include "schemas/link/can_link.h"
#include "schemas/values/result.h"

namespace foundling {

struct LinkSetup {
  std::uint32_t bit_rate = 0;       // bit/s
  double sample_point = 0;          // 0..1; 0: the kernel's choice for the rate
  std::uint32_t data_bit_rate = 0;  // of FD data; 0: classical CAN
  double data_sample_point = 0;
  bool acknowledge = false;      // false: listen-only, electrically silent
  std::uint32_t restart_ms = 0;  // after a bus-off; 0: the controller stays off
};

// The interface must be down. A virtual one has nothing to set and is switched on. An error's code
// is `usage` where the adapter does not offer the mode or the rate.
Result<void> bring_up(const CanLink& link, const LinkSetup& setup);
Result<void> take_down(const CanLink& link);
// Rates, listening or acknowledging, and restart as they were; the interface is down and stays so.
// One that never had a bit rate keeps its last, for there is no setting none.
Result<void> put_back(const CanLink& former);
// Off and on again as it is set up: every driver can do it, and it brings a controller that left
// the bus back on it, where few adapters know the kernel's own restart.
Result<void> restart(const CanLink& link);

}  // namespace foundling
