// How often each bit of a message moves, page by page: the picture of a message's bits.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/span.h"

namespace foundling {

struct BitCount {
  std::uint64_t flips = 0;  // frames in which it differs from the frame before of the same page
  std::uint64_t ones = 0;   // frames in which it is 1
};

struct BitPicture {
  std::optional<std::uint64_t> page;  // the selector's value; none: all frames of the message
  std::uint64_t frames = 0;
  std::vector<BitCount> bits;  // byte * 8 + bit, bit 7 the most significant
};

struct MessagePictures {
  std::vector<BitPicture> pages;      // by page, ascending
  std::uint64_t frames_left_out = 0;  // of pages beyond the most that are pictured
  std::size_t pages_left_out = 0;     // 0 nearly always
  bool too_many_pages = false;        // hardly a selector: pictured as if it were none
};

inline constexpr std::size_t most_pages_pictured = 64;
inline constexpr std::size_t most_pages_counted = 256;

// With a selector one picture a page, the first `most_pages_pictured` in order of value; else one.
// A byte that a short frame does not have counts as 0.
[[nodiscard]] MessagePictures picture_bits(const MessageSeries& message,
                                           const std::optional<Span>& selector);

}  // namespace foundling
