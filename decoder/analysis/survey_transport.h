// Segmented transport, ISO 15765-2: first frames followed by numbered consecutive ones.
#pragma once

#include "schemas/values/frame.h"

namespace foundling {

// True when all but a few frames are of its frame types and at least one segmented message is
// there whole, with its sequence numbers and its length.
[[nodiscard]] bool is_segmented_transport(const MessageSeries& message);

}  // namespace foundling
