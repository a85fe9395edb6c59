#include "schemas/values/channel_name.h"

namespace foundling {
namespace {

std::string of_letters(std::string_view text, std::size_t most, std::string_view allowed) {
  if (text.empty()) return "is empty";
  if (text.size() > most) return "is longer than " + std::to_string(most) + " bytes";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || byte >= 0x80;
    const bool digit = c >= '0' && c <= '9';
    if (!letter && !digit && allowed.find(c) == std::string_view::npos) {
      return "may hold letters, digits and " + std::string(allowed) + " only";
    }
  }
  return {};
}

}  // namespace

std::string fault_of_channel_name(std::string_view name) { return of_letters(name, 64, "_-."); }
std::string fault_of_state(std::string_view word) { return of_letters(word, 64, "_-+."); }

}  // namespace foundling
