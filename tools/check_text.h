// The result of a check as an aligned table and as JSON (schemas/check.json).
#pragma once

#include <string>

#include "decoder/decode/check.h"

namespace foundling {

[[nodiscard]] std::string check_as_text(const MapCheck& check);
[[nodiscard]] std::string check_as_json(const MapCheck& check);

}  // namespace foundling
