// New findings into a map file: written where there is none, merged where there is one. The file is
// replaced whole or left as it was; a map with faults is never touched.
#pragma once

#include <ostream>
#include <string>

#include "schemas/signals/signal_map.h"
#include "schemas/values/result.h"

namespace foundling {

// What was added, updated, agreed or contradicted goes to `messages`, a line each for what a person
// has to look at.
[[nodiscard]] Result<void> update_map_file(const std::string& path, const SignalMap& findings,
                                           std::ostream& messages);

}  // namespace foundling
