// The formatter: the one way to lay out a signal map. No options; keeps every comment.
#pragma once

#include <string>

#include "schemas/signals/document.h"

namespace foundling {

[[nodiscard]] std::string format(const Document& document);

}  // namespace foundling
