#include "schemas/values/channel_name.h"

#include "schemas/values/shown_text.h"
#include "schemas/values/utf8.h"

namespace foundling {
namespace {

// One character of a name: what is wrong with it.
std::string fault_of_character(std::string_view character, std::string_view allowed) {
  const char c = character[0];
  if (static_cast<unsigned char>(c) >= 0x80) {
    if (shows_itself(*character_at(character))) return {};
    return "holds " + shown(character) + ", which shows nothing";
  }
  const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
  const bool digit = c >= '0' && c <= '9';
  if (letter || digit || allowed.find(c) != std::string_view::npos) return {};
  return "may hold letters, digits and " + std::string(allowed) + " only";
}

std::string of_letters(std::string_view text, std::size_t most, std::string_view allowed) {
  if (text.empty()) return "is empty";
  if (text.size() > most) return "is longer than " + std::to_string(most) + " bytes";
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = character_length(text.substr(at));
    if (length == 0) return "is not UTF-8 at byte " + std::to_string(at + 1);
    std::string fault = fault_of_character(text.substr(at, length), allowed);
    if (!fault.empty()) return fault;
    at += length;
  }
  return {};
}

}  // namespace

std::string fault_of_channel_name(std::string_view name) { return of_letters(name, 64, "_-."); }
std::string fault_of_state(std::string_view word) { return of_letters(word, 64, "_-+."); }

}  // namespace foundling
