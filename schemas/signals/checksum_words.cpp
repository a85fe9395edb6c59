#include "schemas/signals/checksum_words.h"

#include <array>
#include <charconv>
#include <cstdint>

namespace foundling {
namespace {

using Family = ChecksumKind::Family;

constexpr int widest_crc = 32;

// "crc16" behind "crc": 16. Nothing where anything but digits stands there.
std::optional<int> width_behind(std::string_view prefix, std::string_view word) {
  if (!word.starts_with(prefix)) return {};
  word.remove_prefix(prefix.size());
  int width = 0;
  const char* const end = word.data() + word.size();
  const auto [stop, failure] = std::from_chars(word.data(), end, width);
  if (failure != std::errc{} || stop != end) return {};
  return width;
}

// In normal form, so that x^width itself is not part of it: 1D, not 11D.
bool is_polynomial(std::string_view text, int width) {
  std::uint64_t value = 0;
  const char* const end = text.data() + text.size();
  const auto [stop, failure] = std::from_chars(text.data(), end, value, 16);
  return failure == std::errc{} && stop == end && (value >> width) == 0;
}

}  // namespace

std::optional<ChecksumKind> checksum_kind(std::string_view word) {
  if (word == "j1939") return ChecksumKind{Family::j1939, 0};
  if (const auto width = width_behind("crc", word)) {
    if (*width < 8 || *width > widest_crc) return {};
    return ChecksumKind{Family::crc, *width};
  }
  if (const auto width = width_behind("sum", word)) {
    if (*width != 4 && *width != 8 && *width != 16) return {};
    return ChecksumKind{Family::sum, *width};
  }
  const auto width = width_behind("xor", word);
  if (!width || (*width != 4 && *width != 8)) return {};
  return ChecksumKind{Family::exclusive_or, *width};
}

std::span<const std::string> usual_checksums() {
  static const std::array<std::string, 9> words{"crc8",  "crc16", "crc32", "sum4", "sum8",
                                                "sum16", "xor4",  "xor8",  "j1939"};
  return words;
}

std::string unchecked_reason(const Checksum& checksum) {
  const auto kind = checksum_kind(checksum.kind);
  if (!kind) {
    return "checksum kind '" + checksum.kind + "' is kept as text, nothing checks it";
  }
  if (kind->family != Family::crc) return {};
  if (kind->width != checksum.span.width()) {
    return "a " + checksum.kind + " in " + std::to_string(checksum.span.width()) +
           " bits is kept as text, nothing checks it";
  }
  if (!is_polynomial(checksum.polynomial, kind->width)) {
    return "a " + checksum.kind + " without a polynomial of its width is kept as text, " +
           "nothing checks it";
  }
  return {};
}

}  // namespace foundling
