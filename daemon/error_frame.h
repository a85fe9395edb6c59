// Says in words what a CAN error frame reports. Classes and detail bytes are those of
// linux/can/error.h; the kernel's documentation is networking/can.rst, "error messages".
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "schemas/values/frame.h"

namespace foundling {

struct ErrorReport {
  // "state": the controller changed between active, warning, passive and bus-off, or restarted;
  // "error-frame": anything else.
  std::string_view kind;
  std::string detail;        // for a person: "no acknowledge; controller: transmit error passive"
  bool frames_lost = false;  // the controller overran: at least one frame is missing, uncounted
};

// `id` has the error flag; `data` has 8 bytes (a shorter one counts as zeros).
[[nodiscard]] ErrorReport describe_error_frame(CanId id, std::span<const std::uint8_t> data);

}  // namespace foundling
