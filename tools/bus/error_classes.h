// What kind of fault a CAN error frame reports, as far as it tells a wrong bit rate from a missing
// acknowledge. Pure. Bits are those of linux/can/error.h; that a receiver at the right rate sees
// nothing wrong before the acknowledge slot follows from the frame format of ISO 11898-1.
#pragma once

#include <cstdint>
#include <span>

#include "schemas/values/frame.h"

namespace foundling {

enum class BusFault : std::uint8_t {
  acknowledge,  // in the acknowledge slot or its delimiter: everything before it was right
  stuff,
  form,
  crc,
  bit,
  reserved_bit,  // form error at a reserved bit: a classical controller meets a CAN FD frame
  unspecified,   // a bus error that the adapter does not describe
  none,          // controller state, overrun, restart: not a fault on the wires
};

[[nodiscard]] BusFault classify_error_frame(CanId id, std::span<const std::uint8_t> data);

}  // namespace foundling
