// Any text as one level of an MQTT topic, and back: what a topic cannot carry, or what means
// something in one, is written as % and two hex digits for each byte (as RFC 3986, section 2.1,
// does), and so is % itself. Two texts never have one level.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace foundling {

[[nodiscard]] std::string topic_level(std::string_view text);
// Nothing for a % without two hex digits.
[[nodiscard]] std::optional<std::string> text_of_topic_level(std::string_view level);

}  // namespace foundling
