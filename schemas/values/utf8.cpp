#include "schemas/values/utf8.h"

#include <algorithm>
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

}  // namespace

std::size_t character_length(std::string_view text) {
  if (text.empty()) return 0;
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

std::optional<char32_t> character_at(std::string_view text) {
  const std::size_t length = character_length(text);
  if (length == 0) return std::nullopt;
  const auto first = static_cast<unsigned char>(text[0]);
  if (length == 1) return first;
  char32_t character = first & (0xFFU >> (length + 1));
  for (const char c : text.substr(1, length - 1)) {
    character = (character << 6U) | (static_cast<unsigned char>(c) & 0x3FU);
  }
  return character;
}

std::size_t well_formed_bytes(std::string_view text) {
  std::size_t at = 0;
  while (at < text.size()) {
    if (static_cast<unsigned char>(text[at]) < 0x80) {  // most of a map
      ++at;
      continue;
    }
    const std::size_t length = character_length(text.substr(at));
    if (length == 0) return at;
    at += length;
  }
  return at;
}

std::string_view first_bytes(std::string_view text, std::size_t limit) {
  text = text.substr(0, limit);
  return text.substr(0, well_formed_bytes(text));
}

std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(std::ranges::count_if(
      text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string printable(std::string_view text) {
  std::string out(text);
  for (std::size_t at = well_formed_bytes(out); at < out.size();) {
    out[at++] = '?';
    at += well_formed_bytes(std::string_view(out).substr(at));
  }
  for (char& c : out) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x20 || byte == 0x7F) c = ' ';
  }
  return out;
}

std::string one_line(std::string_view text) {
  std::string out = printable(text);
  const auto start = out.find_first_not_of(' ');
  if (start == std::string::npos) return {};
  out.erase(out.find_last_not_of(' ') + 1);
  out.erase(0, start);
  return out;
}

}  // namespace foundling
