// The fields a board sends for the quantities of a session, packed into messages.
#pragma once

#include <vector>

#include "tests/bench/recovery/layout.h"
#include "tests/bench/recovery/session.h"

namespace foundling::recovery {

[[nodiscard]] std::vector<MessageSpec> draw_messages(const Session& session, const Recipe& recipe,
                                                     Rng& rng);

}  // namespace foundling::recovery
