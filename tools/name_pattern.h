// Names chosen with * and ?, as in a shell.
#pragma once

#include <string_view>

namespace foundling {

[[nodiscard]] bool matches(std::string_view pattern, std::string_view name);

}  // namespace foundling
