#include "decoder/report/page/bit_picture.h"

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <utility>

namespace foundling {
namespace {

// Bits set, summed over many bytes that stand at one place: the byte's eight bits are spread over
// the eight bytes of a word, and words are added, so that a byte costs one look-up and one addition
// instead of a step a bit.
class ByteSums {
 public:
  void add(std::uint8_t byte) { lanes_ += spread[byte]; }
  // Before any lane is full: after at most 255 additions.
  void pour_into(std::span<BitCount> bits, std::uint64_t BitCount::*count) {
    for (std::size_t i = 0; i < 8; ++i) bits[i].*count += (lanes_ >> (8 * i)) & 0xFFU;
    lanes_ = 0;
  }

 private:
  static constexpr std::array<std::uint64_t, 256> spread = [] {
    std::array<std::uint64_t, 256> words{};
    for (std::size_t byte = 0; byte < 256; ++byte) {
      for (std::size_t i = 0; i < 8; ++i) {
        words[byte] |= static_cast<std::uint64_t>((byte >> i) & 1U) << (8 * i);
      }
    }
    return words;
  }();
  std::uint64_t lanes_ = 0;
};

// The frames of one page.
class Counting {
 public:
  void start(std::optional<std::uint64_t> page, std::size_t bytes) {
    picture_.page = page;
    picture_.bits.resize(bytes * 8);
    ones_.resize(bytes);
    flips_.resize(bytes);
  }
  void add(std::span<const std::uint8_t> row) {
    for (std::size_t byte = 0; byte < row.size(); ++byte) ones_[byte].add(row[byte]);
    if (picture_.frames > 0) {
      for (std::size_t byte = 0; byte < row.size(); ++byte) {
        flips_[byte].add(static_cast<std::uint8_t>(row[byte] ^ before_[byte]));
      }
    }
    before_ = row;
    if (++picture_.frames % 255 == 0) pour();
  }
  BitPicture finish() {
    pour();
    return std::move(picture_);
  }
  [[nodiscard]] std::uint64_t frames() const { return picture_.frames; }

 private:
  void pour() {
    for (std::size_t byte = 0; byte < ones_.size(); ++byte) {
      const std::span<BitCount> bits(&picture_.bits[byte * 8], 8);
      ones_[byte].pour_into(bits, &BitCount::ones);
      flips_[byte].pour_into(bits, &BitCount::flips);
    }
  }

  BitPicture picture_;
  std::vector<ByteSums> ones_;
  std::vector<ByteSums> flips_;
  std::span<const std::uint8_t> before_;  // the last payload of this page
};

// How many values the selector takes, counted up to one more than can be told apart.
std::size_t pages_of(const MessageSeries& message, const Span& selector) {
  std::set<std::uint64_t> values;
  for (std::size_t i = 0; i < message.size() && values.size() <= most_pages_counted; ++i) {
    values.insert(extract(selector, message.row(i)));
  }
  return values.size();
}

}  // namespace

MessagePictures picture_bits(const MessageSeries& message, const std::optional<Span>& selector) {
  MessagePictures out;
  bool paged = selector && selector->last_byte() < static_cast<int>(message.length);
  if (paged && pages_of(message, *selector) > most_pages_counted) {
    paged = false;
    out.too_many_pages = true;
  }
  std::map<std::uint64_t, Counting> pages;
  for (std::size_t i = 0; i < message.size(); ++i) {
    const auto row = message.row(i);
    const std::uint64_t value = paged ? extract(*selector, row) : 0;
    auto [page, is_new] = pages.try_emplace(value);
    if (is_new) {
      page->second.start(paged ? std::optional(value) : std::nullopt, row.size());
    }
    page->second.add(row);
  }
  for (auto& [value, page] : pages) {
    if (out.pages.size() < most_pages_pictured) {
      out.pages.push_back(page.finish());
    } else {
      ++out.pages_left_out;
      out.frames_left_out += page.frames();
    }
  }
  return out;
}

}  // namespace foundling
