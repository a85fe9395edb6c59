// Frames of a message in which a board said nothing: all zeros or all ones for a while, checksum
// and counter included, as after a brown-out or at a start-up. They fit no rule that holds in the
// others.
#pragma once

#include <optional>

#include "schemas/values/frame.h"

namespace foundling {

// The message without runs of such frames; none where it has none, or where they are more than a
// quarter of it and so perhaps what it says.
[[nodiscard]] std::optional<MessageSeries> without_blank_frames(const MessageSeries& message);

}  // namespace foundling
