// Names chosen with *, ? and [...], as in a shell (POSIX fnmatch).
#pragma once

#include <string>
#include <string_view>

#include "schemas/signals/signal_map.h"
#include "schemas/values/result.h"

namespace foundling {

[[nodiscard]] bool matches(std::string_view pattern, std::string_view name);

// An error where the map has no signal that the pattern chooses: a mistyped name must not look like
// silence on the bus.
[[nodiscard]] Result<void> check_pattern(const SignalMap& map, const std::string& pattern);

}  // namespace foundling
