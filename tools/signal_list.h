// A signal map as a list of its signals, series spread out.
#pragma once

#include <string>

#include "decoder/report/paragraph.h"
#include "schemas/signals/field.h"

namespace foundling {

[[nodiscard]] std::string list_as_text(const SignalMap& map, std::size_t width = line_width);
[[nodiscard]] std::string list_as_json(const SignalMap& map);

}  // namespace foundling
