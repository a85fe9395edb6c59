// The sanity watch's findings for a person, as lines.
#pragma once

#include <span>
#include <string>

#include "decoder/decode/sanity.h"

namespace foundling {

// Failed checks as an aligned table under a heading, or one line where all passed; nothing where
// there was nothing to check. `file` is where the lines go (for colours).
[[nodiscard]] std::string sanity_text(std::span<const SanityCheck> checks, int file);

}  // namespace foundling
