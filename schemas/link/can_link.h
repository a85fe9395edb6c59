// A CAN interface as the kernel describes it: state, bit timing, counters. Values only.
// What the fields mean: linux/can/netlink.h.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace foundling {

struct BitTiming {
  std::uint32_t bit_rate = 0;     // bit/s; 0: not set
  double sample_point = 0;        // share of the bit, 0..1
  std::uint32_t quantum_ns = 0;   // 0: the adapter does not tell
  std::uint32_t jump_quanta = 0;  // synchronisation jump width
};

struct LinkCounters {
  std::uint64_t frames = 0;    // received
  std::uint64_t dropped = 0;   // for want of memory or of a place in the kernel's queue
  std::uint64_t overruns = 0;  // the controller's own buffer ran over
  std::uint32_t bus_errors = 0;
  std::uint32_t times_warning = 0, times_passive = 0, times_bus_off = 0, restarts = 0;
};

struct CanLink {
  std::string name;
  unsigned index = 0;
  std::string kind;  // "can" with a controller; "vcan", "vxcan" without
  bool up = false;
  bool listen_only = false;
  bool fd = false;
  std::string state;  // "error active", "error passive", "bus off" ...; empty without a controller
  BitTiming nominal, data;
  std::uint32_t clock_hz = 0;
  std::uint32_t restart_ms = 0;  // after a bus-off; 0: never by itself
  std::optional<std::uint32_t> transmit_errors, receive_errors;  // the controller's counters
  LinkCounters counters;

  // Frames on it reach no wire, and there is no bit rate to set.
  [[nodiscard]] bool is_virtual() const { return kind == "vcan" || kind == "vxcan"; }
};

}  // namespace foundling
