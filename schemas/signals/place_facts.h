// Reads the lines that say where things are in the pack and on its connector: where, pin.
#pragma once

#include <optional>

#include "schemas/signals/fact.h"
#include "schemas/signals/line_reader.h"

namespace foundling {

[[nodiscard]] std::optional<fact::Fact> read_where(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_pin(LineReader& line);

}  // namespace foundling
