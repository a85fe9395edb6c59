// Plays a session of the simulated board onto a CAN interface in real time. Transmits: only for
// `foundling demo --transmit`, only onto the interface that was named, and onto one that reaches a
// wire only when the person says that the bus is theirs.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "schemas/values/result.h"
#include "tools/board/session.h"
#include "tools/can_interface.h"

namespace foundling {

struct TransmitOptions {
  std::string interface;
  bool bus_is_mine = false;       // allows an interface that is not virtual
  double speed = 1;               // session seconds a second
  std::optional<double> seconds;  // stop after so long; else at the session's end
  std::string readings_into;      // a capture that is being recorded; empty: none
  std::string stimulus_file;      // a new CSV of the readings on the wall clock; empty: none
};

// An error unless invented frames may go out there: it is virtual, or the person says that the bus
// is theirs; and it is up.
[[nodiscard]] Result<CanInterface> permitted_interface(const std::string& name, bool bus_is_mine);

struct Transmitted {
  std::uint64_t frames = 0;
  std::uint64_t readings = 0;
  double seconds = 0;
  double worst_lateness_s = 0;  // of a frame against its time
  bool interrupted = false;     // by SIGINT or SIGTERM
};

[[nodiscard]] Result<Transmitted> transmit(const board::BenchSession& session,
                                           const TransmitOptions& options);

}  // namespace foundling
