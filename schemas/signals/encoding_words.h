// The words for how a field's bits stand for a number, as the map and its JSON write them.
#pragma once

#include <span>
#include <string>

#include "schemas/signals/signal_map.h"

namespace foundling {

[[nodiscard]] std::span<const std::string> encoding_words();  // in the order of Encoding
[[nodiscard]] const std::string& to_string(Encoding encoding);

// Whether the bits can say a number below zero.
[[nodiscard]] bool has_sign(Encoding encoding);

}  // namespace foundling
