#include "schemas/values/shown_text.h"

#include <algorithm>
#include <array>

#include "schemas/values/utf8.h"

namespace foundling {
namespace {

struct Range {
  char32_t first, last;
};

// Unicode 15.0, DerivedGeneralCategory.txt: Cc, Zl, Zp, and of Cf what has no form of its own (the
// Arabic and Kaithi number signs have one); with the fillers and selectors of
// Default_Ignorable_Code_Point that let two names look alike. Not the selectors U+FE00..FE0F, which
// choose a character's form.
constexpr std::array<Range, 19> hidden = {{{0x00, 0x1F},
                                           {0x7F, 0x9F},
                                           {0xAD, 0xAD},
                                           {0x034F, 0x034F},
                                           {0x061C, 0x061C},
                                           {0x115F, 0x1160},
                                           {0x17B4, 0x17B5},
                                           {0x180B, 0x180F},
                                           {0x200B, 0x200F},
                                           {0x2028, 0x202E},
                                           {0x2060, 0x206F},
                                           {0x3164, 0x3164},
                                           {0xFEFF, 0xFEFF},
                                           {0xFFA0, 0xFFA0},
                                           {0xFFF0, 0xFFFB},
                                           {0x13430, 0x1345F},
                                           {0x1BCA0, 0x1BCA3},
                                           {0x1D173, 0x1D17A},
                                           {0xE0000, 0xE0FFF}}};

constexpr std::string_view hex_digits = "0123456789abcdef";

void append_unit(std::string& out, char32_t unit) {  // of UTF-16
  out += "\\u";
  for (unsigned shift = 16; shift > 0; shift -= 4) out += hex_digits[(unit >> (shift - 4)) & 0xFU];
}

void append_written_out(std::string& out, char32_t character) {
  if (character <= 0xFFFF) return append_unit(out, character);
  const char32_t above = character - 0x10000;
  append_unit(out, 0xD800 + (above >> 10U));
  append_unit(out, 0xDC00 + (above & 0x3FFU));
}

bool is_plain(char c) { return c >= 0x20 && c < 0x7F; }

std::string escaped(std::string_view text, std::string_view kept) {
  const auto stays = [&](char c) { return is_plain(c) || kept.find(c) != std::string_view::npos; };
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    const auto odd = std::find_if_not(text.begin(), text.end(), stays);
    const auto plain = static_cast<std::size_t>(odd - text.begin());
    out += text.substr(0, plain);
    text.remove_prefix(plain);
    if (text.empty()) break;
    const std::size_t length = std::max<std::size_t>(1, character_length(text));
    const auto character = character_at(text);
    if (!character) {
      const auto byte = static_cast<unsigned char>(text[0]);
      out += {'\\', 'x', hex_digits[byte >> 4U], hex_digits[byte & 0xFU]};
    } else if (shows_itself(*character)) {
      out += text.substr(0, length);
    } else {
      append_written_out(out, *character);
    }
    text.remove_prefix(length);
  }
  return out;
}

}  // namespace

bool shows_itself(char32_t character) {
  // What is no character in any plane: the last two places of each, and U+FDD0..FDEF.
  if ((character & 0xFFFEU) == 0xFFFEU || (character >= 0xFDD0 && character <= 0xFDEF))
    return false;
  return std::none_of(hidden.begin(), hidden.end(), [character](const Range& range) {
    return character >= range.first && character <= range.last;
  });
}

std::string shown(std::string_view text) { return escaped(text, ""); }
std::string shown_lines(std::string_view text) { return escaped(text, "\n\t"); }

}  // namespace foundling
