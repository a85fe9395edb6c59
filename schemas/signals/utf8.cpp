#include "schemas/signals/utf8.h"

#include <cstdint>

namespace foundling {
namespace {

struct Lead {
  std::size_t length;        // bytes of the character, 0: cannot start one
  unsigned char low = 0x80;  // limits of the second byte
  unsigned char high = 0xBF;
};

// RFC 3629, section 4, as a table of first bytes.
Lead lead_of(unsigned char byte) {
  if (byte < 0x80) return {1};
  if (byte < 0xC2) return {0};
  if (byte < 0xE0) return {2};
  if (byte == 0xE0) return {3, 0xA0, 0xBF};
  if (byte == 0xED) return {3, 0x80, 0x9F};
  if (byte < 0xF0) return {3};
  if (byte == 0xF0) return {4, 0x90, 0xBF};
  if (byte < 0xF4) return {4};
  if (byte == 0xF4) return {4, 0x80, 0x8F};
  return {0};
}

// Length of the character at the start of `text`; 0 where there is none.
std::size_t character_length(std::string_view text) {
  const Lead lead = lead_of(static_cast<unsigned char>(text[0]));
  if (lead.length == 0 || lead.length > text.size()) return 0;
  for (std::size_t i = 1; i < lead.length; ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    const unsigned char low = i == 1 ? lead.low : 0x80;
    const unsigned char high = i == 1 ? lead.high : 0xBF;
    if (byte < low || byte > high) return 0;
  }
  return lead.length;
}

}  // namespace

std::size_t well_formed_bytes(std::string_view text) {
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t length = character_length(text.substr(at));
    if (length == 0) return at;
    at += length;
  }
  return at;
}

std::size_t characters(std::string_view text) {
  std::size_t count = 0;
  for (const char c : text) count += (static_cast<unsigned char>(c) & 0xC0U) != 0x80U ? 1 : 0;
  return count;
}

std::string one_line(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const std::size_t length = character_length(text);
    const auto first = static_cast<unsigned char>(text[0]);
    if (length == 0) {
      out += '?';
    } else if (length == 1 && (first < 0x20 || first == 0x7F)) {
      out += ' ';
    } else {
      out += text.substr(0, length);
    }
    text.remove_prefix(length == 0 ? 1 : length);
  }
  const auto start = out.find_first_not_of(' ');
  if (start == std::string::npos) return {};
  return out.substr(start, out.find_last_not_of(' ') - start + 1);
}

}  // namespace foundling
