// A message of which frames came in CAN FD format.
#pragma once

#include <cstdint>

#include "schemas/values/frame.h"

namespace foundling {

struct FdMessage {
  std::uint8_t bus = 0;
  CanId id;
  std::uint64_t frames = 0;  // in FD format; classical ones are not counted
};

}  // namespace foundling
