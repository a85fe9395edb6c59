#include "decoder/report/page/packed.h"

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace foundling {
namespace {

void append(std::string& bytes, std::uint64_t number) {
  for (; number >= 0x80; number >>= 7) bytes += static_cast<char>(0x80 | (number & 0x7F));
  bytes += static_cast<char>(number);
}

std::uint64_t zigzag(std::int64_t n) {
  return n >= 0 ? 2 * static_cast<std::uint64_t>(n) : 2 * static_cast<std::uint64_t>(-(n + 1)) + 1;
}

// The series' own steps where they can be counted, else steps of its range.
void choose_steps(const Extremes& extremes, Packed& out) {
  constexpr double most_steps = 1099511627776.0;  // 2^40: differences stay exact in a double
  double low = 0;
  double high = 0;
  bool any = false;
  for (std::size_t i = 0; i < extremes.size(); ++i) {
    if (!extremes.has(i)) continue;
    low = any ? std::min(low, extremes.low(i)) : extremes.low(i);
    high = any ? std::max(high, extremes.high(i)) : extremes.high(i);
    any = true;
  }
  const double furthest = std::max(std::abs(low - out.base), std::abs(high - out.base));
  if (out.step > 0 && furthest / out.step < most_steps) return;
  out.base = low;
  // Halves, so that a range of nearly all doubles does not overflow.
  out.step = (high / 2 - low / 2) / 65535.0 * 2;
  if (!(out.step > 0)) out.step = 1;
}

}  // namespace

std::string base64(const std::string& bytes) {
  static constexpr char digits[] =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  text.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    std::uint32_t group = 0;
    for (std::size_t k = 0; k < 3; ++k) {
      group = (group << 8) | (i + k < bytes.size() ? static_cast<std::uint8_t>(bytes[i + k]) : 0U);
    }
    for (std::size_t k = 0; k < 4; ++k) {
      text += i + k <= bytes.size() ? digits[(group >> (18 - 6 * k)) & 0x3F] : '=';
    }
  }
  return text;
}

Packed packed(const Extremes& extremes, double base, double step) {
  Packed out{base, std::abs(step), {}};
  choose_steps(extremes, out);
  std::string bytes;
  std::uint64_t empty = 0;
  std::int64_t before = 0;
  const auto whole = [&out](double value) {
    return static_cast<std::int64_t>(std::llround((value - out.base) / out.step));
  };
  const auto flush_empty = [&] {
    if (empty == 0) return;
    append(bytes, 0);
    append(bytes, empty);
    empty = 0;
  };
  for (std::size_t i = 0; i < extremes.size(); ++i) {
    if (!extremes.has(i)) {
      ++empty;
      continue;
    }
    flush_empty();
    const std::int64_t low = whole(extremes.low(i));
    append(bytes, 1 + zigzag(low - before));
    append(bytes, static_cast<std::uint64_t>(whole(extremes.high(i)) - low));
    before = low;
  }
  flush_empty();
  out.data = base64(bytes);
  return out;
}

}  // namespace foundling
