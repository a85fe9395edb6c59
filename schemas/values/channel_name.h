// Which names a channel may have, and which words a state channel may take: up to 64 bytes of
// letters (also beyond ASCII, well-formed UTF-8 that shows itself), digits and a few signs, so that
// they need no quotes anywhere.
#pragma once

#include <string>
#include <string_view>

namespace foundling {

// What is wrong with a channel's name, a state's word; empty when nothing is.
[[nodiscard]] std::string fault_of_channel_name(std::string_view name);  // signs _-.
[[nodiscard]] std::string fault_of_state(std::string_view word);         // signs _-+.

}  // namespace foundling
