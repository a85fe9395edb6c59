// A signal map as a list of its signals, series spread out.
#pragma once

#include <string>

#include "schemas/signals/field.h"

namespace foundling {

[[nodiscard]] std::string list_as_text(const SignalMap& map);
[[nodiscard]] std::string list_as_json(const SignalMap& map);

}  // namespace foundling
