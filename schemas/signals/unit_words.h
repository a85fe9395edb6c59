// The units that the project converts; any other is kept as text, and said so.
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace foundling {

[[nodiscard]] std::span<const std::string> known_units();
[[nodiscard]] bool is_known_unit(std::string_view unit);

}  // namespace foundling
