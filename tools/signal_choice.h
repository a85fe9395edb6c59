// Which of a map's signals a command takes: by name, and by whether a person confirmed them. What
// would leave nothing is an error: a mistyped name or a map that nobody checked must not look like
// silence on the bus.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "schemas/signals/signal_map.h"
#include "schemas/values/result.h"

namespace foundling {

class CommandLine;

struct SignalChoice {
  std::vector<std::string> patterns;  // none: every name
  bool confirmed_only = false;

  [[nodiscard]] bool takes(std::string_view name, Status status) const;
};

// --signal and --confirmed-only.
void declare_signal_choice(CommandLine app, SignalChoice& choice);

// What a person has to know of the choice: how many signals are not confirmed and left out; empty
// where none is.
[[nodiscard]] Result<std::string> check_choice(const SignalMap& map, const SignalChoice& choice);

}  // namespace foundling
