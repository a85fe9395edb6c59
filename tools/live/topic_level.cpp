#include "tools/live/topic_level.h"

#include <algorithm>
#include <charconv>

#include "schemas/values/shown_text.h"
#include "schemas/values/utf8.h"

namespace foundling {
namespace {

// MQTT 5.0, 1.5.4 (no U+0000, no surrogates; control characters and non-characters a reader may
// refuse), and 4.7.1 (level separator and wildcards).
constexpr std::string_view special = "/+#%";

bool goes_as_it_is(std::string_view text) {
  const auto character = character_at(text);
  return character && shows_itself(*character) &&
         special.find(text.front()) == std::string_view::npos;
}

}  // namespace

std::string topic_level(std::string_view text) {
  constexpr std::string_view hex = "0123456789ABCDEF";
  std::string level;
  while (!text.empty()) {
    const std::size_t length = std::max<std::size_t>(1, character_length(text));
    const std::string_view character = text.substr(0, length);
    if (goes_as_it_is(text)) {
      level += character;
    } else {
      for (const char c : character) {
        const auto byte = static_cast<unsigned char>(c);
        level += {'%', hex[byte >> 4U], hex[byte & 0xFU]};
      }
    }
    text.remove_prefix(length);
  }
  return level;
}

std::optional<std::string> text_of_topic_level(std::string_view level) {
  std::string text;
  while (!level.empty()) {
    if (level.front() != '%') {
      text += level.front();
      level.remove_prefix(1);
      continue;
    }
    unsigned byte = 0;
    const char* const end = level.data() + std::min<std::size_t>(3, level.size());
    const auto read = std::from_chars(level.data() + 1, end, byte, 16);
    if (read.ec != std::errc{} || read.ptr != level.data() + 3) return std::nullopt;
    text += static_cast<char>(byte);
    level.remove_prefix(3);
  }
  return text;
}

}  // namespace foundling
