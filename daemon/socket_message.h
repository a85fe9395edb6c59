// Takes apart what the kernel hands over for one CAN frame: the frame and its ancillary data.
// Layouts are those of linux/can.h; SO_TIMESTAMPNS and SO_RXQ_OVFL as in socket(7).
#pragma once

#include <cstddef>
#include <optional>

#include "daemon/frame_source.h"

struct msghdr;

namespace foundling {

// `bytes` were received into the message's first buffer. Nothing if they are not a CAN or CAN FD
// frame.
[[nodiscard]] std::optional<Arrival> read_message(const msghdr& message, std::size_t bytes);

}  // namespace foundling
