#include "decoder/report/page/bit_picture.h"

#include <algorithm>
#include <bit>
#include <map>
#include <set>
#include <span>

namespace foundling {
namespace {

struct Counting {
  BitPicture picture;
  std::span<const std::uint8_t> before;  // the last payload of this page
};

void add_row(Counting& page, std::span<const std::uint8_t> row) {
  std::vector<BitCount>& bits = page.picture.bits;
  for (std::size_t byte = 0; byte < row.size(); ++byte) {
    for (unsigned left = row[byte]; left != 0; left &= left - 1) {
      ++bits[byte * 8 + static_cast<std::size_t>(std::countr_zero(left))].ones;
    }
    if (page.before.empty()) continue;
    for (unsigned left = row[byte] ^ page.before[byte]; left != 0; left &= left - 1) {
      ++bits[byte * 8 + static_cast<std::size_t>(std::countr_zero(left))].flips;
    }
  }
  ++page.picture.frames;
  page.before = row;
}

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
      if (paged) page->second.picture.page = value;
      page->second.picture.bits.resize(row.size() * 8);
    }
    add_row(page->second, row);
  }
  for (auto& [value, page] : pages) {
    if (out.pages.size() < most_pages_pictured) {
      out.pages.push_back(std::move(page.picture));
    } else {
      ++out.pages_left_out;
      out.frames_left_out += page.picture.frames;
    }
  }
  return out;
}

}  // namespace foundling
